import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { BURST, LaneRecorder } from '../../shared/sim/trace.ts'
import { LaneIndex } from '../../shared/wire/lane-index.ts'
import { bitRole, levelAt, summarise, type Waveform, waveformIn } from '../../shared/wire/waveform.ts'

interface Spoken {
  readonly startNs: number
  readonly octets: readonly number[]
  readonly talker?: number
}

function laneOf(bursts: readonly Spoken[], baud = 115_200, bits = 10, parity: 'none' | 'even' = 'none') {
  const recorder = new LaneRecorder('bus', 'bus', baud, bits, parity)
  recorder.talkers.push('a', 'b')
  for (const { startNs, octets, talker = 0 } of bursts) {
    const first = recorder.reserve(octets.length)
    recorder.octets.set(octets, first)
    recorder.burst(startNs, talker, first, octets.length)
  }
  return recorder.done()
}

/** A plain receiver that samples the middle of each bit: written for this test, shares no code with the waveform. */
function receive(wave: Waveform, endNs: number, baud: number, even: boolean): number[] {
  const bitNs = 1e9 / baud
  const got: number[] = []
  for (let edge = 0; edge < wave.edgesNs.length; ) {
    const startNs = wave.edgesNs[edge]
    if (levelAt(wave, startNs + bitNs / 2) === 1) {
      edge++
      continue
    }
    let octet = 0
    let ones = 0
    for (let bit = 0; bit < 8; bit++) {
      const level = levelAt(wave, startNs + (bit + 1.5) * bitNs)
      octet += level * 2 ** bit
      ones += level
    }
    if (even) expect((ones + levelAt(wave, startNs + 9.5 * bitNs)) % 2).toBe(0)
    expect(levelAt(wave, startNs + (even ? 10.5 : 9.5) * bitNs)).toBe(1)
    got.push(octet)
    const nextNs = startNs + (even ? 10.5 : 9.5) * bitNs
    while (edge < wave.edgesNs.length && wave.edgesNs[edge] < nextNs) edge++
    if (nextNs > endNs) break
  }
  return got
}

const octetsArb = fc.array(fc.integer({ min: 0, max: 255 }), { minLength: 1, maxLength: 20 })

describe('the waveform of a line', () => {
  it('sends 0x55 as ten bits of equal length, least significant first', () => {
    const index = new LaneIndex(laneOf([{ startNs: 1000, octets: [0x55] }], 1_000_000))
    const wave = waveformIn(index, 0, 20_000)
    expect(wave.firstLevel).toBe(1)
    expect([...wave.edgesNs]).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map(i => i * 1000))
  })

  it('sends 0x01 with even parity high in the ninth place after the start bit', () => {
    const index = new LaneIndex(laneOf([{ startNs: 0, octets: [0x01] }], 1_000_000, 11, 'even'))
    const wave = waveformIn(index, -500, 12_000)
    const bits = Array.from({ length: 11 }, (_, i) => levelAt(wave, i * 1000 + 500))
    expect(bits).toEqual([0, 1, 0, 0, 0, 0, 0, 0, 0, 1, 1])
    expect(
      Array.from({ length: 11 }, (_, i) => bitRole({ bitsPerCharacter: 11, parity: 'even' }, i)).slice(-2),
    ).toEqual(['parity', 'stop'])
  })

  it('gives the octets back to a plain receiver, at any rate, with and without parity', () => {
    fc.assert(
      fc.property(
        octetsArb,
        fc.constantFrom(9600, 57_600, 115_200, 420_000),
        fc.boolean(),
        (octets, baud, even) => {
          const index = new LaneIndex(
            laneOf([{ startNs: 12_345, octets }], baud, even ? 11 : 10, even ? 'even' : 'none'),
          )
          const endNs = index.endNs[0] + 1e9 / baud
          const wave = waveformIn(index, 0, endNs)
          expect(wave.complete).toBe(true)
          expect(receive(wave, endNs, baud, even)).toEqual(octets)
        },
      ),
    )
  })

  it('looks the same through a small window as in the whole', () => {
    fc.assert(
      fc.property(
        octetsArb,
        octetsArb,
        fc.integer({ min: 0, max: 2_000_000 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (a, b, startNs, at) => {
          const index = new LaneIndex(
            laneOf([
              { startNs: 0, octets: a },
              { startNs, octets: b, talker: 1 },
            ]),
          )
          const endNs = Math.max(index.endNs[0], index.endNs[1])
          const whole = waveformIn(index, -1, endNs)
          const fromNs = at * endNs
          const part = waveformIn(index, fromNs, fromNs + 100_000)
          for (let i = 0; i < 50; i++) {
            const t = fromNs + (i + 0.5) * 2000
            if (t < endNs) expect(levelAt(part, t)).toBe(levelAt(whole, t))
          }
        },
      ),
    )
  })

  it('is low wherever one of two overlapping talkers is low', () => {
    fc.assert(
      fc.property(octetsArb, octetsArb, fc.integer({ min: 0, max: 500_000 }), (a, b, startNs) => {
        const one = new LaneIndex(laneOf([{ startNs: 0, octets: a }]))
        const other = new LaneIndex(laneOf([{ startNs, octets: b }]))
        const both = new LaneIndex(
          laneOf([
            { startNs: 0, octets: a },
            { startNs, octets: b, talker: 1 },
          ]),
        )
        const waves = [one, other, both].map(index => waveformIn(index, -1, 5_000_000))
        for (let t = 1111; t < 4_000_000; t += 4217) {
          const [x, y, z] = waves.map(wave => levelAt(wave, t))
          expect(z).toBe(Math.min(x, y))
        }
      }),
      { numRuns: 30 },
    )
  })

  it('says so when it stops early, instead of taking for ever', () => {
    const index = new LaneIndex(laneOf([{ startNs: 0, octets: new Array(5000).fill(0x55) }]))
    const wave = waveformIn(index, 0, index.endNs[0], 1000)
    expect(wave.complete).toBe(false)
    expect(wave.edgesNs.length).toBeLessThan(1100)
  })

  it('has no start and stop bits on the air', () => {
    const index = new LaneIndex(laneOf([{ startNs: 0, octets: [0b0000_1111] }], 1_000_000, 8))
    expect([...waveformIn(index, -10, 9000).edgesNs]).toEqual([4000, 8000])
  })
})

describe('columns of a window', () => {
  it('hold the share of time in which somebody speaks, and all of it together', () => {
    fc.assert(
      fc.property(octetsArb, fc.integer({ min: 1, max: 300 }), (octets, columns) => {
        const index = new LaneIndex(laneOf([{ startNs: 50_000, octets, talker: 1 }]))
        const toNs = index.endNs[0] + 70_000
        const { busy, talker } = summarise(index, 0, toNs, columns)
        const sum = busy.reduce((total, share) => total + (share * toNs) / columns, 0)
        expect(sum / (index.endNs[0] - 50_000)).toBeCloseTo(1, 3)
        for (let i = 0; i < columns; i++) expect(talker[i]).toBe(busy[i] > 0 ? 1 : 255)
      }),
    )
  })

  it('carry the flags of spoilt bursts', () => {
    const lane = laneOf([
      { startNs: 0, octets: [1, 2, 3] },
      { startNs: 900_000, octets: [4] },
    ])
    lane.flags[1] = BURST.lost
    const { flags } = summarise(new LaneIndex(lane), 0, 1_000_000, 10)
    expect([...flags]).toEqual([0, 0, 0, 0, 0, 0, 0, 0, 0, BURST.lost])
  })
})
