import { describe, expect, it } from 'vitest'
import {
  bitErrorProbability,
  frameErrorProbability,
  freeSpaceLossDb,
  linkMarginDb,
  pathLossDb,
  planeEarthLossDb,
  receivedDbm,
} from '../../shared/air/path.ts'

describe('free-space loss, ITU-R P.525, to 0.1 dB', () => {
  const published: [number, number, number][] = [
    [2450, 100, 80.18],
    [2450, 1000, 100.18],
    [868, 1000, 91.17],
    [915, 1000, 91.63],
    [433.92, 1000, 85.15],
  ]
  for (const [megahertz, metres, db] of published)
    it(`${megahertz} MHz over ${metres} m loses ${db} dB`, () =>
      expect(Math.abs(freeSpaceLossDb(megahertz, metres) - db)).toBeLessThan(0.1))

  it('6 dB less power halves the range, 20 dB divide it by ten: 10^(N / 20)', () => {
    for (const [db, ratio] of [
      [3, 1.413],
      [6, 1.995],
      [10, 3.162],
      [20, 10],
      [30, 31.62],
    ])
      expect(freeSpaceLossDb(2441, ratio * 50) - freeSpaceLossDb(2441, 50)).toBeCloseTo(db, 2)
  })
})

describe('loss near the ground', () => {
  it('is that of free space near by, and that of plane earth far out', () => {
    expect(pathLossDb(2441, 10)).toBe(freeSpaceLossDb(2441, 10))
    expect(pathLossDb(2441, 2000)).toBe(planeEarthLossDb(2000, 1.2))
  })

  it('crosses over where (4 pi d / wavelength)^2 equals d^4 / (h1 h2)^2: at d = 4 pi h1 h2 / wavelength', () => {
    // Radio and model 1.2 m above the ground; the constant 32.4 of ITU-R P.525 is rounded, 0.05 dB or 0.6 % of d.
    for (const megahertz of [868, 915, 2441]) {
      const crossing = (4 * Math.PI * 1.2 * 1.2) / (299.792458 / megahertz)
      expect(pathLossDb(megahertz, crossing * 0.99)).toBe(freeSpaceLossDb(megahertz, crossing * 0.99))
      expect(pathLossDb(megahertz, crossing * 1.01)).toBeGreaterThan(
        freeSpaceLossDb(megahertz, crossing * 1.01),
      )
    }
  })

  it('loses 12 dB for each doubling beyond the crossing, and never less than free space', () => {
    expect(pathLossDb(868, 4000) - pathLossDb(868, 2000)).toBeCloseTo(40 * Math.log10(2), 6)
    for (let metres = 0.1; metres < 20_000; metres *= 1.3)
      expect(pathLossDb(2441, metres)).toBeGreaterThanOrEqual(freeSpaceLossDb(2441, metres))
  })
})

describe('what arrives', () => {
  const ends = {
    megahertz: 2450,
    metres: 100,
    powerDbm: 18,
    transmitGainDbi: 2,
    receiveGainDbi: 0,
    sensitivityDbm: -99,
    overloadDbm: -10,
  }
  it('is power and gains less the loss', () => {
    expect(receivedDbm(ends)).toBeCloseTo(20 - 80.18, 1)
    expect(linkMarginDb(ends)).toBeCloseTo(20 - 80.18 + 99, 1)
  })
})

describe('errors', () => {
  it('one bit in a thousand at the sensitivity, fewer with margin, half of them far below', () => {
    expect(bitErrorProbability(0)).toBeCloseTo(1e-3, 9)
    expect(bitErrorProbability(3)).toBeLessThan(1e-5)
    expect(bitErrorProbability(-60)).toBeCloseTo(0.5, 3)
  })

  it('P = 1 - (1 - p)^n: F. Gebali, Analysis of Computer and Communication Networks, eq. 9.2', () => {
    expect(frameErrorProbability(1e-3, 1056)).toBeCloseTo(0.6523, 4)
    expect(frameErrorProbability(1e-4, 1024)).toBeCloseTo(0.09734, 5)
    expect(frameErrorProbability(1e-5, 8232)).toBeCloseTo(0.07902, 5)
    expect(frameErrorProbability(1e-6, 8232)).toBeCloseTo(0.008198, 6)
    expect(frameErrorProbability(0, 1000)).toBe(0)
  })
})
