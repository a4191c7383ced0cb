import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type LineImage,
  pathTo,
  type Standing,
  versionLine,
  whyNotNext,
} from '../../shared/fit/version-line.ts'

const image = (version: string, rest: Partial<LineImage> = {}): LineImage => ({
  id: version,
  version,
  sequenceNumber: 'unknown',
  generation: 2,
  convertsFrom: undefined,
  receiverFirmware: undefined,
  ...rest,
})
const runs = (firmware: string, generation = 2): Standing => ({ firmware, generation })

describe('the line of versions', () => {
  it('is in the order of Semantic Versioning 2.0.0, item 11', () => {
    // The list that the standard itself gives.
    const published = [
      ...['1.0.0-alpha', '1.0.0-alpha.1', '1.0.0-alpha.beta', '1.0.0-beta'],
      ...['1.0.0-beta.2', '1.0.0-beta.11', '1.0.0-rc.1', '1.0.0'],
    ]
    expect(versionLine([...published].reverse().map(v => image(v))).map(i => i.version)).toEqual(published)
    expect(versionLine([image('1.10.0'), image('1.9.0')]).map(i => i.version)).toEqual(['1.9.0', '1.10.0'])
  })

  it('falls back on sequence numbers where versions are equal or not known', () => {
    const a = image('unknown', { id: 'a', sequenceNumber: 9 })
    const b = image('unknown', { id: 'b', sequenceNumber: 4 })
    expect(versionLine([a, b]).map(i => i.id)).toEqual(['b', 'a'])
  })

  it('steps on 2.0 to get from 1.4 to 3.1, and not on more than it must', () => {
    const images = [
      image('1.5.0'),
      image('2.0.0', { receiverFirmware: '>=1.2.0' }),
      image('3.0.0', { receiverFirmware: '>=2.0.0' }),
      image('3.1.0', { receiverFirmware: '>=2.0.0' }),
    ]
    const path = pathTo(images[3], runs('1.4.0'), images)
    expect(path.ok && path.steps.map(s => s.version)).toEqual(['2.0.0', '3.1.0'])
    const direct = pathTo(images[3], runs('2.2.0'), images)
    expect(direct.ok && direct.steps.map(s => s.version)).toEqual(['3.1.0'])
  })

  it('goes over a conversion where the target is of the later generation', () => {
    const convert = image('2.0.0', { generation: 3, convertsFrom: 2, receiverFirmware: '>=1.6.0' })
    const images = [image('1.7.0'), convert, image('2.1.0', { generation: 3 })]
    const path = pathTo(images[2], runs('1.4.0'), images)
    expect(path.ok && path.steps.map(s => s.version)).toEqual(['1.7.0', '2.0.0', '2.1.0'])
  })

  it('says why there is no way', () => {
    const target = image('3.0.0', { receiverFirmware: '>=2.0.0' })
    const path = pathTo(target, runs('1.0.0'), [target])
    expect(path).toEqual({
      ok: false,
      why: 'There is no way to this image with the images at hand: it needs firmware >=2.0.0, and the receiver runs 1.0.0.',
    })
  })

  it('does not take what is not known for fine', () => {
    const target = image('3.0.0', { receiverFirmware: '>=2.0.0' })
    expect(pathTo(target, { firmware: 'unknown', generation: 2 }, [target]).ok).toBe(false)
  })

  it('is as short as the shortest that trying everything finds', () => {
    const version = fc.integer({ min: 1, max: 6 }).map(n => `${n}.0.0`)
    const spec = fc.record({ version, least: fc.option(version, { nil: undefined }) })
    fc.assert(
      fc.property(
        fc.uniqueArray(spec, { maxLength: 6, selector: s => s.version }),
        version,
        (specs, start) => {
          const images = specs.map(s =>
            image(s.version, { receiverFirmware: s.least && `>=${s.least} <=${s.version}` }),
          )
          for (const target of images) {
            const found = pathTo(target, runs(start), images)
            expect(found.ok ? found.steps.length : undefined).toBe(shortest(target, runs(start), images))
            if (found.ok) walk(found.steps, runs(start))
          }
        },
      ),
      { numRuns: 300 },
    )
  })
})

/** Every sequence of images without a repeat, tried one after the other. */
function shortest(target: LineImage, from: Standing, images: readonly LineImage[]): number | undefined {
  let best: number | undefined
  const go = (at: Standing, left: readonly LineImage[], steps: number) => {
    if (best !== undefined && steps >= best) return
    if (whyNotNext(target, at) === undefined) best = steps + 1
    for (const i of left)
      if (whyNotNext(i, at) === undefined)
        go(
          { firmware: i.version, generation: i.generation },
          left.filter(o => o !== i),
          steps + 1,
        )
  }
  go(
    from,
    images.filter(i => i.id !== target.id),
    0,
  )
  return best
}

function walk(steps: readonly LineImage[], from: Standing): void {
  let at = from
  for (const step of steps) {
    expect(whyNotNext(step, at)).toBeUndefined()
    at = { firmware: step.version, generation: step.generation }
  }
}
