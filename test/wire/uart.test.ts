import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  bitsPerCharacter,
  characterNs,
  hearNoisy,
  hearTogether,
  levelOf,
  type Parity,
  type Spoken,
} from '../../shared/wire/uart.ts'
import { bitsOf, heardOnWire } from '../support/uart-model.ts'

const parities = fc.constantFrom<Parity>('none', 'even')
const bauds = fc.constantFrom(1200, 57_600, 115_200, 400_000, 420_000, 3_000_000)
const spoken = (octets: Uint8Array, startNs = 0): Spoken => ({ startNs, octets, from: 0, to: octets.length })

describe('a character', () => {
  /** Character times: reference arithmetic, 10 bits for 8N1 and 11 for 8E1 over the baud rate. */
  it.each([
    [57_600, 173.611, 190.972],
    [115_200, 86.806, 95.486],
    [400_000, 25, 27.5],
    [420_000, 23.81, 26.19],
  ])('at %i baud takes %f us as 8N1 and %f us as 8E1', (baud, none, even) => {
    expect(characterNs(baud) / 1000).toBeCloseTo(none, 3)
    expect(characterNs(baud, 'even') / 1000).toBeCloseTo(even, 3)
  })

  it('has the levels of its bits, start bit low, least significant bit first, stop bit high', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 1, maxLength: 5 }), parities, bauds, (octets, parity, baud) => {
        const levels = [...octets].flatMap(o => bitsOf(o, parity === 'even'))
        const bitNs = 1e9 / baud
        levels.forEach((level, i) => {
          expect(levelOf(spoken(octets, 1000), 1000 + (i + 0.5) * bitNs, baud, parity)).toBe(level)
        })
        expect(levelOf(spoken(octets, 1000), 999, baud, parity)).toBe(1)
        expect(levelOf(spoken(octets, 1000), 1001 + levels.length * bitNs, baud, parity)).toBe(1)
      }),
    )
  })
})

describe('odd parity', () => {
  it('is the even parity bit inverted, so that the number of ones is odd', () => {
    const bitNs = 1e9 / 9600
    for (let octet = 0; octet < 256; octet++) {
      const level = (bit: number) => levelOf(spoken(Uint8Array.of(octet)), (bit + 0.5) * bitNs, 9600, 'odd')
      const ones = Array.from({ length: 9 }, (_, i) => level(i + 1)).reduce((sum, bit) => sum + bit, 0)
      expect(ones % 2).toBe(1)
      expect(level(10)).toBe(1)
    }
  })

  it('is checked by whoever hears', () => {
    const octets = Uint8Array.of(0x55, 0xa3)
    expect(hearTogether([spoken(octets)], 9600, 'odd')).toMatchObject({ octets, framingErrors: 0 })
    expect(hearNoisy(spoken(octets), [], 9600, 'odd').octets).toEqual(octets)
    expect(hearNoisy(spoken(octets), [11 + 9], 9600, 'odd')).toMatchObject({ framingErrors: 1 })
  })
})

describe('what is sent is heard', () => {
  it('by one listener, with the time of each octet', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 1, maxLength: 60 }), parities, bauds, (octets, parity, baud) => {
        const heard = hearTogether([spoken(octets, 5000)], baud, parity)
        expect(heard.octets).toEqual(octets)
        expect(heard.framingErrors).toBe(0)
        heard.startNs.forEach((at, i) => {
          expect(Math.abs(at - 5000 - i * characterNs(baud, parity))).toBeLessThan(1e9 / baud / 8)
        })
        expect(hearNoisy(spoken(octets), [], baud, parity).octets).toEqual(octets)
      }),
    )
  })
})

describe('talkers who overlap', () => {
  it('are heard as an independent model of wire and receiver hears them', () => {
    const talk = fc.record({
      startNs: fc.nat(2_000_000),
      octets: fc.array(fc.nat(255), { minLength: 1, maxLength: 12 }),
    })
    fc.assert(
      fc.property(fc.array(talk, { minLength: 1, maxLength: 3 }), parities, (talks, parity) => {
        const heard = hearTogether(
          talks.map(t => spoken(Uint8Array.from(t.octets), t.startNs)),
          115_200,
          parity,
        )
        expect([...heard.octets]).toEqual(heardOnWire(talks, 115_200, parity === 'even'))
      }),
      { numRuns: 150 },
    )
  })
})

describe('an inverted bit', () => {
  it('changes the data bit that it hits, or costs the character', () => {
    const octets = Uint8Array.of(0x55, 0xa3, 0x00)
    for (const parity of ['none', 'even'] as const) {
      const bits = bitsPerCharacter(parity)
      for (let bit = 1; bit <= 8; bit++) {
        const heard = hearNoisy(spoken(octets), [bits + bit], 115_200, parity)
        if (parity === 'none')
          expect(heard.octets).toEqual(Uint8Array.of(0x55, 0xa3 ^ (1 << (bit - 1)), 0x00))
        else {
          expect(heard.octets).toEqual(Uint8Array.of(0x55, 0x00))
          expect(heard.framingErrors).toBe(1)
        }
      }
      const stop = hearNoisy(spoken(octets), [2 * bits - 1], 115_200, parity)
      expect(stop.framingErrors).toBeGreaterThanOrEqual(1)
      expect(stop.octets[0]).toBe(0x55)
      expect([...stop.octets]).not.toContain(0xa3)
    }
  })
})
