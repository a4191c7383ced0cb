import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { demoDefaults } from '../../shared/demo/bench.ts'
import { buildImage } from '../../shared/image/build.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { wrenSpec } from '../renderer/firmware/sources.ts'
import { preflash } from '../support/cli.ts'
import { testFolder } from '../support/folder.ts'

const folder = testFolder('family')
afterAll(() => folder.remove())
const image = (version: string) => buildImage({ ...wrenSpec, version, sizeBytes: 8192 })
const [first, second] = [image('2.5.0'), image('2.6.0')]
const path = join(folder.path, 'two.uf2')
writeFileSync(
  path,
  new Uint8Array([
    ...writeUf2(first.segments, { familyId: 7 }),
    ...writeUf2(second.segments, { familyId: 0x5ee21072 }),
  ]),
)
const declare = ['--declare', `type=${wrenSpec.typeId},version=2.6.0`]

describe('a UF2 file for several families on the command line', () => {
  it.each(['rehearse', 'fit', 'stage'])('%s asks which, and names them', async verb => {
    const volume = verb === 'stage' ? ['--volume', folder.path] : []
    const receiver = verb === 'fit' ? ['--receiver', demoDefaults.receiverId] : []
    const run = await preflash(verb, '--image', path, ...declare, ...volume, ...receiver)
    expect(run.code).toBe(2)
    expect(run.err).toContain('0x00000007, 0x5EE21072')
    expect(run.err).toContain('--family')
    const wrong = await preflash(verb, '--image', path, '--family', '9', ...declare, ...volume, ...receiver)
    expect(wrong.code).toBe(2)
    expect(wrong.err).toContain('There is no image for the family 0x00000009')
  })

  it('rehearses with the one that is named', async () => {
    const run = await preflash('rehearse', '--image', path, '--family', '0x5EE21072', ...declare, '--json')
    expect(JSON.parse(run.out)).toMatchObject({ outcome: 'updated', receiver: { firmwareAfter: '2.6.0' } })
  })

  it('stages the one that is named', async () => {
    const volume = join(folder.path, 'card')
    mkdirSync(volume)
    const run = await preflash(
      'stage',
      '--image',
      path,
      '--family',
      '7',
      ...declare,
      '--volume',
      volume,
      '--json',
    )
    expect(JSON.parse(run.out)).toMatchObject({ verified: true, sha256: first.card.sha256 })
  })
})
