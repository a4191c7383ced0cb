import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  expoSection,
  FAILSAFE_MODES,
  failsafeCodec,
  hopCodec,
  hopTable,
  outputCodec,
  sineSection,
  telemetryCodec,
  telemetryDescriptors,
} from '../../shared/image/program-sections.ts'
import { bandSchema } from '../../shared/model/units.ts'

const generations = Array.from({ length: 9 }, (_, i) => i + 1)

describe('hop tables', () => {
  it.each(bandSchema.options)(
    '%s: each channel once, far from the one before, another order in each generation',
    band => {
      const seen = new Set<string>()
      for (const generation of generations) {
        const { sequence } = hopTable(band, generation)
        const channels = sequence.length
        expect([...sequence].sort((a, b) => a - b)).toEqual(Array.from({ length: channels }, (_, i) => i))
        sequence.forEach((channel, k) => {
          const step = (sequence[(k + 1) % channels] - channel + channels) % channels
          if (generation <= 3) expect(Math.min(step, channels - step)).toBeGreaterThan(channels / 6)
        })
        seen.add(sequence.join())
      }
      expect(seen.size).toBe(generations.length)
    },
  )

  /** Band limits: reference values, section 7: 2400–2483.5, 865–868, 902–928 MHz. */
  it.each([
    ['2.4GHz', 2_400_000, 2_483_500],
    ['868MHz', 865_000, 868_000],
    ['915MHz', 902_000, 928_000],
  ] as const)('%s: every channel with its width lies in the band', (band, from, to) => {
    const { baseKilohertz, spacingKilohertz, sequence } = hopTable(band, 1)
    expect(baseKilohertz - spacingKilohertz / 2).toBeGreaterThanOrEqual(from)
    expect(baseKilohertz + (sequence.length - 0.5) * spacingKilohertz).toBeLessThanOrEqual(to)
  })

  /** EN 300 328: 15 hopping frequencies or more; 47 CFR 15.247(a)(1)(i): 50 or more (reference values, section 7). */
  it('has as many channels as the rules want', () => {
    expect(hopTable('2.4GHz', 1).sequence.length).toBeGreaterThanOrEqual(15)
    expect(hopTable('915MHz', 1).sequence.length).toBeGreaterThanOrEqual(50)
  })
})

describe('sections come back as they were written', () => {
  const u8 = fc.nat(255)
  const u16 = fc.nat(0xffff)
  it('hop tables', () => {
    const tables = fc.array(
      fc.record({
        band: fc.constantFrom(...bandSchema.options),
        baseKilohertz: fc.nat(0xffffffff),
        spacingKilohertz: u16,
        sequence: fc.integer({ min: 1, max: 200 }).chain(n =>
          fc.shuffledSubarray(
            Array.from({ length: n }, (_, i) => i),
            { minLength: n },
          ),
        ),
      }),
      { maxLength: 4 },
    )
    fc.assert(
      fc.property(tables, list => {
        expect(hopCodec.decode(hopCodec.encode(list))).toEqual(list)
      }),
    )
  })

  it('outputs, failsafe and telemetry', () => {
    const outputs = fc.array(fc.record({ neutralMicros: u16, travelMicros: u16, frameMicros: u16 }))
    const failsafe = fc.array(fc.record({ mode: fc.constantFrom(...FAILSAFE_MODES), pulseMicros: u16 }))
    const text = fc.string({ unit: 'grapheme', maxLength: 20 })
    const telemetry = fc.array(
      fc.record({ id: u8, exponent: fc.integer({ min: -128, max: 127 }), label: text, unit: text }),
    )
    fc.assert(
      fc.property(outputs, failsafe, telemetry, (o, f, t) => {
        expect(outputCodec.decode(outputCodec.encode(o))).toEqual(o)
        expect(failsafeCodec.decode(failsafeCodec.encode(f))).toEqual(f)
        expect(telemetryCodec.decode(telemetryCodec.encode(t))).toEqual(t)
      }),
    )
  })

  it('any octets are decoded or refused, and cut-off ones are refused', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 60 }), octets => {
        for (const codec of [hopCodec, outputCodec, failsafeCodec, telemetryCodec]) codec.decode(octets)
      }),
    )
    const whole = telemetryCodec.encode(telemetryDescriptors(3))
    for (let length = 0; length < whole.length; length++)
      expect(telemetryCodec.decode(whole.subarray(0, length))).toBeUndefined()
    expect(hopCodec.decode(Uint8Array.of(1, 0, 2, 0, 0, 0, 0, 0, 0, 1, 1))).toBeUndefined()
    expect(hopCodec.decode(Uint8Array.of(1, 7, 0, 0, 0, 0, 0, 0, 0))).toBeUndefined()
  })
})

describe('curves', () => {
  const words = (octets: Uint8Array) =>
    Array.from({ length: octets.length / 2 }, (_, i) => (octets[2 * i] << 8) | octets[2 * i + 1])
  it('the sine rises from 0 to full, and is a half at 30 degrees', () => {
    const sine = words(sineSection())
    expect([sine.length, sine[0], sine[256]]).toEqual([257, 0, 65_535])
    expect(sine.every((v, i) => i === 0 || v >= sine[i - 1])).toBe(true)
    expect(sine[Math.round(256 / 3)] / 65_535).toBeCloseTo(0.5, 2)
  })
  it('each stick curve runs from 0 to full, and lies lower the stronger it is', () => {
    const expo = words(expoSection())
    for (let e = 0; e <= 20; e++) {
      expect([expo[33 * e], expo[33 * e + 32]]).toEqual([0, 32_767])
      if (e > 0) expect(expo[33 * e + 16]).toBeLessThan(expo[33 * (e - 1) + 16])
    }
  })
})
