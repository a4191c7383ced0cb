import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { checkCard } from '../../main/card/check.ts'
import { stageOnVolume } from '../../main/card/stage.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { AT, asCard, demoImage, snapshot, spoiledSteps, systemError } from '../support/card-fixture.ts'
import { preflash } from '../support/cli.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

let folder: TestFolder
let card: string
const at = (name: string) => join(card, 'IMAGES', name)
beforeEach(async () => {
  folder = testFolder('check')
  card = join(folder.path, 'CARD')
  mkdirSync(card)
  for (const id of ['wren-6-2.4.0', 'wren-6-2.1.0', 'heron-8-1.7.0'])
    await stageOnVolume({ image: demoImage(id), target: asCard(card), folder: 'IMAGES', at: AT })
})
afterEach(() => folder.remove())

async function check(...rest: [] | [Parameters<typeof checkCard>[3]]) {
  const result = await checkCard(asCard(card), 'images/', demoBench(), ...rest)
  if (!result.ok) throw new Error(result.problems[0].code)
  return result.value
}
const states = async (...rest: [] | [Parameters<typeof checkCard>[3]]) =>
  Object.fromEntries((await check(...rest)).images.map(i => [i.image.name, i.state]))

describe('a staged card, looked at again', () => {
  it('says what is there, for which receivers, and what is stale, and changes nothing', async () => {
    const before = snapshot(card)
    const { images, unlisted, leftOver, junk } = await check()
    expect(images.map(i => [i.image.name, i.state, i.stale?.kind])).toEqual([
      ['aldwick-wren-6-2.1.0.image', 'intact', 'superseded'],
      ['aldwick-wren-6-2.4.0.image', 'intact', undefined],
      ['tamsin-heron-8-1.7.0.image', 'intact', undefined],
    ])
    expect(images[1].receivers).toContain('wren-trainer')
    expect([unlisted, leftOver, junk]).toEqual([[], [], []])
    expect(snapshot(card)).toEqual(before)
  })

  it('sees what was changed, swapped, cut short, made longer or taken away', async () => {
    const octets = readFileSync(at('aldwick-wren-6-2.4.0.image'))
    const spoilt = Buffer.from(octets)
    spoilt[200_000] ^= 1
    for (const other of [
      spoilt,
      octets.subarray(1),
      Buffer.concat([octets, Buffer.of(0)]),
      Buffer.alloc(0),
    ]) {
      writeFileSync(at('aldwick-wren-6-2.4.0.image'), other)
      expect((await states())['aldwick-wren-6-2.4.0.image']).toBe('changed')
    }
    writeFileSync(at('aldwick-wren-6-2.4.0.image'), octets)
    expect((await states())['aldwick-wren-6-2.4.0.image']).toBe('intact')
    const label = readFileSync(at('aldwick-wren-6-2.1.0.card.json'))
    writeFileSync(at('aldwick-wren-6-2.4.0.card.json'), label)
    rmSync(at('tamsin-heron-8-1.7.0.image'))
    expect(await states()).toEqual({
      'aldwick-wren-6-2.1.0.image': 'intact',
      'aldwick-wren-6-2.4.0.image': 'changed',
      'tamsin-heron-8-1.7.0.image': 'missing',
    })
  })

  it('lists what does not belong to it', async () => {
    for (const name of ['.DS_Store', 'x.image.part', 'song.mp3']) writeFileSync(at(name), '')
    expect(await check()).toMatchObject({
      unlisted: ['song.mp3'],
      leftOver: ['x.image.part'],
      junk: ['.DS_Store'],
    })
  })

  it('says which image a bad sector is in, and when the whole card goes', async () => {
    const bad = spoiledSteps((step, _, path) => {
      if (step === 'read' && path.endsWith('2.1.0.image')) throw systemError('EIO')
    })
    expect(await states(bad)).toMatchObject({
      'aldwick-wren-6-2.1.0.image': 'unreadable',
      'aldwick-wren-6-2.4.0.image': 'intact',
    })
    const pulled = spoiledSteps((step, nth) => {
      if (step === 'read' && nth === 3) rmSync(card, { recursive: true })
    })
    await expect(check(pulled)).rejects.toThrow('check.card-absent')
  })

  it('without a manifest, or with a damaged one, says so', async () => {
    writeFileSync(at('preflash-manifest.json'), '{')
    await expect(check()).rejects.toThrow('manifest.not-json')
    rmSync(at('preflash-manifest.json'))
    await expect(check()).rejects.toThrow('manifest.missing')
  })

  it('is what stage --check does', async () => {
    const run = await preflash('stage', '--check', '--volume', card, '--json')
    expect(run.code).toBe(1)
    expect(JSON.parse(run.out).images[0]).toMatchObject({ state: 'intact', stale: { kind: 'superseded' } })
    const words = await preflash('stage', '--check', '--volume', card)
    expect(words.out).toContain('superseded by wren-6-2.4.0')
    expect((await preflash('stage', '--check', '--volume', card, '--folder', 'NIX')).code).toBe(2)
    expect((await preflash('stage', '--volume', card)).code).toBe(2)
  })
})
