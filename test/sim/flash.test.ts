import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { dice } from '../../shared/sim/dice.ts'
import {
  erase,
  eraseNs,
  makeRegion,
  program,
  programNs,
  tornErase,
  tornProgram,
} from '../../shared/sim/flash.ts'

const layout = demoBench().catalogue.receiverTypes[0].flash
const data = Uint8Array.from({ length: 56 }, (_, i) => (i * 37) & 0xff)

describe('flash is strict: what a sound program never does stops the run', () => {
  it('erased octets read FF; an erase makes a page so again and wears it', () => {
    const region = makeRegion('program', 4096, 1024)
    program(region, 1024, data, 2)
    expect(region.octets.subarray(1024, 1024 + data.length)).toEqual(data)
    erase(region, 1)
    expect(region.octets.every(o => o === 0xff)).toBe(true)
    expect([...region.wear]).toEqual([0, 1, 0, 0])
  })

  const misuse: [string, () => void][] = [
    ['a page that is not there', () => erase(makeRegion('program', 4096, 1024), 4)],
    ['a page between pages', () => erase(makeRegion('program', 4096, 1024), 0.5)],
    ['half a word', () => program(makeRegion('program', 4096, 1024), 1, data, 2)],
    ['a length of half words', () => program(makeRegion('program', 4096, 1024), 0, data.subarray(0, 3), 2)],
    ['octets outside', () => program(makeRegion('program', 4096, 1024), 4090, data, 2)],
    [
      'octets that are not erased',
      () => {
        const region = makeRegion('program', 4096, 1024)
        program(region, 0, data, 2)
        program(region, 54, data, 2)
      },
    ],
  ]
  for (const [what, act] of misuse) it(`for ${what}`, () => expect(act).toThrow(/misused its flash/))
})

describe('a power failure in the middle', () => {
  it('of an erase brings up some bits and takes none away', () => {
    const region = makeRegion('program', 1024, 1024)
    const before = region.octets.map((_, i) => (i * 13) & 0xff)
    region.octets.set(before)
    tornErase(region, 0, 0.4, dice(1, 'tear'))
    expect(region.octets.every((o, i) => (o & before[i]) === before[i])).toBe(true)
    expect(region.octets.some((o, i) => o !== before[i])).toBe(true)
    expect(region.octets.some(o => o !== 0xff)).toBe(true)
  })

  it('of a write leaves the first words whole, one half, and the rest erased', () => {
    const region = makeRegion('program', 1024, 1024)
    tornProgram(region, 0, data, 2, 0.5, dice(1, 'tear'))
    expect(region.octets.subarray(0, 28)).toEqual(data.subarray(0, 28))
    expect(region.octets.subarray(30).every(o => o === 0xff)).toBe(true)
    for (const i of [28, 29]) expect(region.octets[i] & data[i]).toBe(data[i])
  })
})

describe('times, ST DS5319 tables 28 and 29', () => {
  it('a page of 1 KB erases in 20 to 40 ms', () => {
    const d = dice(3, 'flash')
    const times = Array.from({ length: 2000 }, () => eraseNs(layout, d) / 1e6)
    expect(Math.min(...times)).toBeGreaterThanOrEqual(20)
    expect(Math.max(...times)).toBeLessThanOrEqual(40)
    expect(Math.max(...times) - Math.min(...times)).toBeGreaterThan(15)
  })

  it('256 octets take 5.12 to 8.96 ms, a page of 1 KB 20.5 to 35.8', () => {
    const d = dice(3, 'flash')
    for (const [octets, least, most] of [
      [256, 5.12, 8.96],
      [1024, 20.48, 35.84],
    ]) {
      const times = Array.from({ length: 500 }, () => programNs(layout, octets, d) / 1e6)
      expect(Math.min(...times)).toBeGreaterThanOrEqual(least - 1e-6)
      expect(Math.max(...times)).toBeLessThanOrEqual(most + 1e-6)
    }
  })
})
