import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { preflash } from '../support/cli.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

let folder: TestFolder
let card: string
beforeEach(() => {
  folder = testFolder('stage')
  card = join(folder.path, 'CARD')
  mkdirSync(card)
})
afterEach(() => folder.remove())

const raw = Buffer.from(Uint8Array.from({ length: 5000 }, (_, i) => (i * 13) & 0xff))
function imageFile(): string {
  const file = join(folder.path, 'mine.bin')
  writeFileSync(file, raw)
  return file
}
const digest = (octets: Buffer) => createHash('sha256').update(octets).digest('hex')

describe('preflash stage', () => {
  it('puts an image file into a folder and proves it', async () => {
    const run = await preflash('stage', '--image', imageFile(), '--volume', card, '--folder', 'IMG', '--json')
    expect(run.code).toBe(0)
    const said = JSON.parse(run.out)
    expect(said).toMatchObject({ verified: true, volume: { kind: 'folder' }, junk: [], problems: [] })
    expect(said.path.startsWith(join(card, 'IMG'))).toBe(true)
    expect(readFileSync(said.path).equals(raw)).toBe(true)
    expect(said.sha256).toBe(digest(raw))
    expect(['device', 'perhaps cache']).toContain(said.readBack)
    expect(JSON.parse(readFileSync(said.manifestPath, 'utf8'))).toEqual(said.manifest)
    expect(said.manifest.images[0]).toMatchObject({ sha256: digest(raw), version: 'unknown' })
  })

  it('says in words that it is only a folder, and names the version declared', async () => {
    const declared = ['--declare', 'type=tamsin-heron-8,version=1.9.1']
    const run = await preflash('stage', '--image', imageFile(), '--volume', card, ...declared)
    expect(run.code).toBe(0)
    expect(run.out).toContain('only a folder')
    expect(readdirSync(join(card, 'IMAGES'))).toContain('tamsin-heron-8-1.9.1.image')
  })

  it('ends with 2 for a system disk, a bad folder, a missing volume, another type, and names what was wrong', async () => {
    for (const [args, words] of [
      [['--volume', '/'], /this computer's own|place of the system/],
      [['--volume', card, '--folder', 'AUX'], /AUX-file/],
      [['--volume', join(card, 'nothing')], /no such volume/],
      [['--volume', card, '--receiver', 'wren-trainer', '--declare', 'type=tamsin-heron-8'], /for the type/],
      [['--volume', card, '--receiver', 'nobody'], /no receiver called/],
    ] as const) {
      const run = await preflash('stage', '--image', imageFile(), ...args)
      expect([args, run.code]).toEqual([args, 2])
      expect(run.err).toMatch(words)
    }
    expect(readdirSync(card)).toEqual([])
  })

  it('ends with 2 for an image that is not what its image card says', async () => {
    const file = imageFile()
    const good = await preflash('stage', '--image', file, '--volume', card, '--json')
    const { cardPath } = JSON.parse(good.out)
    writeFileSync(`${file}.card.json`, readFileSync(cardPath))
    expect((await preflash('stage', '--image', file, '--volume', card)).code).toBe(0)
    const damaged = Buffer.from(raw)
    damaged[99] ^= 1
    writeFileSync(file, damaged)
    const before = readdirSync(join(card, 'IMAGES'))
    const run = await preflash('stage', '--image', file, '--volume', card, '--json')
    expect(run.code).toBe(2)
    expect(JSON.parse(run.out)).toMatchObject({ verified: false, problems: [{ code: 'image.damaged' }] })
    expect(readdirSync(join(card, 'IMAGES'))).toEqual(before)
  })

  it('explains the choice of volumes in its help', async () => {
    const run = await preflash('stage', '--help')
    expect(run.code).toBe(0)
    expect(run.out).toContain('--folder-only')
  })
})
