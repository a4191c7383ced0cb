import { mkdirSync, realpathSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { targetAt } from '../../main/card/target.ts'
import type { Volume } from '../../main/card/volume.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

let folder: TestFolder
let root: string
beforeAll(() => {
  folder = testFolder('target')
  root = realpathSync(folder.path)
  mkdirSync(join(root, 'CARD', 'sub'), { recursive: true })
  mkdirSync(join(root, 'plain'))
  mkdirSync(join(root, 'pat', 'cards'), { recursive: true })
  writeFileSync(join(root, 'file'), '')
  symlinkSync(join(root, 'CARD'), join(root, 'link'))
})
afterAll(() => folder.remove())

const volume = (path: string, kind: Volume['kind']): Volume => ({
  path,
  kind,
  why: 'Said by the test.',
  certain: true,
  fileSystem: 'vfat',
  readOnly: false,
  totalBytes: 1e9,
  freeBytes: 1e9,
  clusterBytes: 4096,
})

async function look(
  path: string,
  kind: Volume['kind'],
  options: { folderOnly?: boolean; top?: Volume['kind'] } = {},
) {
  const volumes = async () => [volume('/', options.top ?? 'system'), volume(join(root, 'CARD'), kind)]
  const homeFolder = join(root, 'pat')
  const target = await targetAt(join(root, path), { volumes, homeFolder, folderOnly: options.folderOnly })
  return target.ok ? target.value.kind : target.problems[0].code
}

describe('the place that a person names for images', () => {
  it.each(['card', 'radio-internal', 'external-disk', 'image-file', 'not-known'] as const)(
    'may be the top of a volume of the kind %s',
    async kind => {
      expect(await look('CARD', kind)).toBe(kind)
      expect(await look('link', kind)).toBe(kind)
    },
  )

  it.each(['system', 'network', 'memory'] as const)(
    'may not be the top of a volume of the kind %s',
    async kind => {
      expect(await look('CARD', kind)).toBe(`volume.${kind}`)
      expect(await look('CARD', kind, { folderOnly: true })).toBe(
        kind === 'system' ? 'volume.system' : 'folder',
      )
    },
  )

  it('may be an ordinary folder, which is then called one', async () => {
    expect(await look('plain', 'card')).toBe('folder')
    expect(await look('plain', 'card', { top: 'memory' })).toBe('folder')
    expect(await look('plain', 'card', { top: 'network' })).toBe('volume.network')
    expect(await look('plain', 'card', { top: 'network', folderOnly: true })).toBe('folder')
  })

  it('is not a folder inside a card: that is named apart', async () => {
    const target = await targetAt(join(root, 'CARD', 'sub'), {
      volumes: async () => [volume(join(root, 'CARD'), 'card')],
    })
    expect(target).toMatchObject({
      problems: [{ code: 'volume.inside', remedy: expect.stringContaining('--folder sub') }],
    })
    expect(await look('CARD/sub', 'card', { folderOnly: true })).toBe('folder')
  })

  it('is never the home folder or a place of the system, whatever is said', async () => {
    for (const folderOnly of [false, true]) {
      expect(await look('pat', 'card', { folderOnly })).toBe('volume.system')
      expect(await look('pat/cards', 'card', { folderOnly })).toBe('folder')
      for (const path of ['/usr', '/etc', '/usr/share', '/'])
        expect(
          await targetAt(path, { folderOnly, volumes: async () => [volume('/', 'system')] }),
        ).toMatchObject({ problems: [{ code: 'volume.system' }] })
    }
  })

  it('that is not there, or a file, is said so', async () => {
    expect(await look('nothing', 'card')).toBe('volume.missing')
    expect(await look('file', 'card')).toBe('volume.not-a-folder')
  })
})
