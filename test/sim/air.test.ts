import { describe, expect, it } from 'vitest'
import {
  bitErrorProbability,
  frameErrorProbability,
  type LinkEnds,
  linkMarginDb,
} from '../../shared/air/path.ts'
import { bandSchema } from '../../shared/model/units.ts'
import { MAX_BODY } from '../../shared/procedure/bus.ts'
import { Air, airTiming, LISTEN_NS } from '../../shared/sim/air.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { maxEncodedLength } from '../../shared/wire/hdlc.ts'

const near: LinkEnds = {
  megahertz: 2441,
  metres: 2,
  powerDbm: 18,
  transmitGainDbi: 2,
  receiveGainDbi: 0,
  sensitivityDbm: -99,
  overloadDbm: -10,
}
const frame = new Uint8Array(62).fill(0x11)

/** Sends so many frames, one a slot, and counts what arrives. */
function send(
  count: number,
  change: { ends?: Partial<LinkEnds>; region?: 'lbt' | 'hopping'; share?: number; dbm?: number },
) {
  const kernel = new Kernel()
  let arrived = 0
  const air = new Air(kernel, {
    ends: { ...near, ...change.ends },
    timing: airTiming('2.4GHz'),
    region: change.region ?? 'lbt',
    interference: { share: change.share ?? 0, dbm: change.dbm ?? -45 },
    loss: dice(1, 'loss'),
    traffic: dice(1, 'traffic'),
  })
  air.connect({ hearAir: () => {} }, { hearAir: () => arrived++ })
  for (let i = 0; i < count; i++) {
    air.fromModule(frame)
    kernel.runTo(kernel.nowNs + msToNs(200))
  }
  return { arrived, air, kernel }
}

describe('the air', () => {
  it('loses nothing where there is margin', () => expect(send(500, {}).arrived).toBe(500))

  it('loses nothing out of reach of doubt, and everything far away or against the antenna', () => {
    expect(send(200, { ends: { metres: 4000 } }).arrived).toBe(0)
    expect(send(200, { ends: { metres: 0.03 } }).arrived).toBe(0)
  })

  it('near its limit loses what 1 - (1 - p)^n says, over the fading of 4 dB either way', () => {
    // Where the margin is 1.5 dB: some fades are harmless, some are not.
    const metres = 1130
    const ends = { ...near, metres }
    const count = 4000
    const { arrived, air } = send(count, { ends: { metres } })
    const bits = (air.recorder.octetCount.at(0) + airTiming('2.4GHz').overheadOctets) * 8
    const steps = 4000
    let lossRate = 0
    for (let i = 0; i < steps; i++) {
      const fade = -4 + (8 * (i + 0.5)) / steps
      lossRate += frameErrorProbability(bitErrorProbability(linkMarginDb(ends) + fade), bits) / steps
    }
    expect(lossRate).toBeGreaterThan(0.05)
    expect(lossRate).toBeLessThan(0.95)
    // Binomial: five standard deviations, one run in a million strays.
    const deviation = Math.sqrt(count * lossRate * (1 - lossRate))
    expect(Math.abs(count - arrived - count * lossRate)).toBeLessThan(5 * deviation)
  })

  it('waits for a free slot when it listens first, and loses packets when it does not', () => {
    const polite = send(300, { share: 0.4 })
    expect(polite.arrived).toBe(300)
    // Each slot is found occupied with probability 0.4: 0.4 / 0.6 silent slots a packet, within five deviations.
    const expected = (300 * 0.4) / 0.6
    expect(Math.abs(polite.air.deferred - expected)).toBeLessThan(5 * Math.sqrt((300 * 0.4) / 0.36))
    const rude = send(1000, { share: 0.4, region: 'hopping', dbm: -20 })
    expect(rude.air.deferred).toBe(0)
    expect(Math.abs(1000 - rude.arrived - 400)).toBeLessThan(5 * Math.sqrt(1000 * 0.24))
  })

  it('is heard over an interferer that is much weaker', () =>
    expect(send(300, { share: 1, region: 'hopping', dbm: -80 }).arrived).toBe(300))
})

describe('the rules of the air, as far as our slots can keep them', () => {
  for (const band of bandSchema.options) {
    const timing = airTiming(band)
    const longestMs = ((maxEncodedLength(MAX_BODY) + timing.overheadOctets) * 8 * 1000) / timing.bitsPerSecond
    const typicalMs = ((72 + timing.overheadOctets) * 8 * 1000) / timing.bitsPerSecond

    it(`${band}: ETSI EN 300 328, no transmission longer than 60 ms, idle at least 5 % and 100 microseconds`, () => {
      expect(longestMs).toBeLessThan(60)
      const slotMs = timing.slotNs / 1e6
      const idleMs = slotMs - typicalMs
      expect(idleMs / typicalMs).toBeGreaterThan(0.05)
      expect(idleMs).toBeGreaterThan(0.1)
    })

    it(`${band}: observes the channel for at least 18 microseconds before it talks`, () =>
      expect(LISTEN_NS).toBeGreaterThanOrEqual(18_000))

    it(`${band}: 47 CFR 15.247, at most 0.4 s on a channel in 0.4 s times the number of channels`, () => {
      // A new channel each slot, 15 of them at least: a channel's turn comes every 15th slot.
      const channels = band === '2.4GHz' ? 15 : 50
      const periodMs = 400 * channels
      const visits = Math.ceil(periodMs / ((timing.slotNs / 1e6) * channels))
      expect(visits * longestMs).toBeLessThan(400)
    })
  }
})
