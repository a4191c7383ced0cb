import { describe, expect, it } from 'vitest'
import { awgDiameterMm, awgOhmsPerMetre, leadOhms } from '../../shared/wiring/wire.ts'

/**
 * ASTM B258 gives the diameter, d = 0.127 mm * 92^((36 - n) / 39); copper at 1.724e-8 ohm metres, 20 degrees Celsius,
 * gives the resistance. The table is the handbook one: gauge, diameter in mm, ohms per kilometre.
 */
const TABLE: [number, number, number][] = [
  [20, 0.8118, 33.31],
  [22, 0.6438, 52.96],
  [24, 0.5106, 84.21],
  [26, 0.4049, 133.9],
  [28, 0.3211, 212.9],
]

describe('copper wire', () => {
  for (const [awg, mm, ohmsPerKm] of TABLE)
    it(`AWG ${awg} has ${mm} mm and ${ohmsPerKm} ohms a kilometre, to 0.1 %`, () => {
      expect(Math.abs(awgDiameterMm(awg) / mm - 1)).toBeLessThan(0.001)
      expect(Math.abs((awgOhmsPerMetre(awg) * 1000) / ohmsPerKm - 1)).toBeLessThan(0.001)
    })

  it('drops what both conductors drop: 0.3 m of AWG 26 at 1 A, 80.3 mV; 1 m at 2 A, 0.536 V', () => {
    expect(leadOhms(0.3, 26) * 1000).toBeCloseTo(80.3, 0)
    expect(leadOhms(1, 26) * 2).toBeCloseTo(0.536, 2)
  })

  it('is defined by two of its gauges: 36 is 0.127 mm, 0000 would be 92 times that', () => {
    expect(awgDiameterMm(36)).toBeCloseTo(0.127, 10)
    expect(awgDiameterMm(-3)).toBeCloseTo(0.127 * 92, 6)
  })
})
