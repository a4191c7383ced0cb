import { describe, expect, it } from 'vitest'
import { isGap, lineOf, type Stop, wayWords } from '../../../renderer/firmware/line.ts'
import type { LineImage } from '../../../shared/fit/version-line.ts'

const image = (version: string, change: Partial<LineImage> = {}): LineImage => ({
  id: version,
  version,
  sequenceNumber: 'unknown',
  generation: 3,
  convertsFrom: undefined,
  receiverFirmware: undefined,
  ...change,
})
const stops = (line: ReturnType<typeof lineOf>): Stop[] =>
  line.parts.filter((part): part is Stop => !isGap(part))
const at = (firmware: string, generation: number | 'unknown' = 3) => ({ firmware, generation })

describe('the version line', () => {
  const three = [image('2.10.0'), image('2.1.0'), image('2.9.0')]

  it('goes from old to new after Semantic Versioning, item 11', () => {
    expect(stops(lineOf(three, at('2.1.0'), undefined)).map(s => s.version)).toEqual([
      '2.1.0',
      '2.9.0',
      '2.10.0',
    ])
  })

  it('says what the receiver runs, also where there is no image of it', () => {
    expect(stops(lineOf(three, at('2.9.0'), undefined)).map(s => s.runsNow)).toEqual([false, true, false])
    const between = stops(lineOf(three, at('2.5.0'), undefined))
    expect(between.map(s => s.version)).toEqual(['2.1.0', '2.5.0', '2.9.0', '2.10.0'])
    expect(between[1]).toMatchObject({ imageId: undefined, runsNow: true })
    expect(stops(lineOf(three, at('3.0.0'), undefined)).at(-1)?.version).toBe('3.0.0')
  })

  it('says that it is not known what the receiver runs', () => {
    const line = lineOf(three, at('unknown'), undefined)
    expect(line.runsUnknown).toBe(true)
    expect(stops(line).some(s => s.runsNow)).toBe(false)
  })

  it('marks the stepping stones in order', () => {
    const images = [
      image('2.0.0'),
      image('3.0.0', { receiverFirmware: '>=2.0.0 <3.0.0' }),
      image('4.0.0', { receiverFirmware: '>=3.0.0 <4.0.0' }),
    ]
    const line = lineOf(images, at('1.0.0'), '4.0.0')
    expect(stops(line).map(s => [s.version, s.stepOnWay])).toEqual([
      ['1.0.0', 0],
      ['2.0.0', 1],
      ['3.0.0', 2],
      ['4.0.0', 3],
    ])
    expect(wayWords(line, id => `image ${id}`)).toBe(
      'First image 2.0.0, then image 3.0.0; after that the chosen image.',
    )
  })

  it('says where there is no way, and where it goes straight on', () => {
    const lone = lineOf([image('4.0.0', { receiverFirmware: '>=3.0.0' })], at('1.0.0'), '4.0.0')
    expect(wayWords(lone, id => id)).toContain('no way')
    expect(wayWords(lineOf(three, at('2.1.0'), '2.9.0'), id => id)).toContain('straight')
    expect(wayWords(lineOf(three, at('2.1.0'), undefined), id => id)).toBeUndefined()
  })

  it('draws images of one version as one stop, the chosen one in front', () => {
    const twice = [image('2.1.0', { id: 'a' }), image('2.1.0', { id: 'b' }), image('2.2.0')]
    const line = stops(lineOf(twice, at('2.1.0'), 'b'))
    expect(line.map(s => [s.imageId, s.images, s.chosen])).toEqual([
      ['b', 2, true],
      ['2.2.0', 1, false],
    ])
  })

  it('leaves out of a long line what matters least, and counts it', () => {
    const many = Array.from({ length: 300 }, (_, i) => image(`1.${i}.0`))
    const { parts } = lineOf(many, at('1.50.0'), '1.200.0')
    const shown = parts.filter((part): part is Stop => !isGap(part))
    expect(shown.length).toBe(9)
    expect(shown.map(s => s.version)).toEqual(
      expect.arrayContaining(['1.0.0', '1.50.0', '1.200.0', '1.299.0']),
    )
    expect(shown.length + parts.filter(isGap).reduce((sum, gap) => sum + gap.leftOut, 0)).toBe(300)
  })
})
