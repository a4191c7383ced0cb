import { beforeAll, describe, expect, it } from 'vitest'
import { hopTable } from '../../shared/image/program-sections.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { airTiming, LISTEN_NS } from '../../shared/sim/air.ts'
import type { Lane } from '../../shared/sim/trace.ts'
import { smallRequest } from '../support/small-bench.ts'

/** What was really on the air in a whole session, held against the published rules; not only what slots would allow. */
interface Transmission {
  readonly startNs: number
  readonly endNs: number
  readonly byModule: boolean
}

function onAir(lane: Lane): Transmission[] {
  const { bitsPerSecond, overheadOctets } = airTiming('2.4GHz')
  return Array.from({ length: lane.burstCount }, (_, i) => ({
    startNs: lane.startNs[i],
    endNs: lane.startNs[i] + ((lane.octetCount[i] + overheadOctets) * 8 * 1e9) / bitsPerSecond,
    byModule: lane.talkers[lane.talker[i]] === 'module',
  }))
}

let sent: Transmission[]
let slotNs: number
beforeAll(() => {
  const done = rehearse(smallRequest({ route: 'wireless' }))
  if (!done.ok) throw new Error(done.problems[0].message)
  const lane = done.value.trace.lanes.find(l => l.id === 'air')
  if (lane === undefined) throw new Error('nothing was on the air')
  sent = onAir(lane)
  slotNs = airTiming('2.4GHz').slotNs
})

describe('ETSI EN 300 328, adaptive, listen before talk', () => {
  it('module and receiver never talk at the same time', () => {
    expect(sent.length).toBeGreaterThan(200)
    for (let i = 1; i < sent.length; i++) expect(sent[i].startNs).toBeGreaterThanOrEqual(sent[i - 1].endNs)
  })

  it('occupies the channel for less than 60 ms, then is idle for 5 % of that and 100 us at least', () => {
    const module = sent.filter(t => t.byModule)
    for (let i = 0; i < module.length; i++) {
      const occupancyNs = module[i].endNs - module[i].startNs
      expect(occupancyNs).toBeLessThan(60e6)
      if (i + 1 === module.length) break
      const idleNs = module[i + 1].startNs - module[i].endNs
      expect(idleNs).toBeGreaterThanOrEqual(Math.max(100_000, occupancyNs * 0.05))
    }
  })

  it('observes for 18 us at least: the module is on the air that long after its slot has begun', () => {
    for (const t of sent.filter(s => s.byModule)) expect(t.startNs % slotNs).toBe(LISTEN_NS)
    expect(LISTEN_NS).toBeGreaterThanOrEqual(18_000)
  })
})

describe('47 CFR 15.247 (a)(1): at most 0.4 s on a channel in 0.4 s times the number of channels', () => {
  it.each([1, 2, 3])('at 2.4 GHz with the hop table of generation %i, a hop a slot', generation => {
    const { sequence } = hopTable('2.4GHz', generation)
    const channels = new Set(sequence)
    expect(channels.size).toBeGreaterThanOrEqual(15)
    const periodNs = 400e6 * channels.size
    const onChannel = new Map<number, { endNs: number; airNs: number }[]>()
    for (const t of sent) {
      const channel = sequence[Math.floor(t.startNs / slotNs) % sequence.length]
      const list = onChannel.get(channel) ?? []
      list.push({ endNs: t.endNs, airNs: t.endNs - t.startNs })
      onChannel.set(channel, list)
    }
    // A busy session goes on for ever at the pace that this one has: scale what a channel got to a whole period.
    const sessionNs = sent[sent.length - 1].endNs - sent[0].startNs
    for (const list of onChannel.values()) {
      const airNs = list.reduce((sum, t) => sum + t.airNs, 0)
      expect((airNs / sessionNs) * periodNs).toBeLessThan(400e6)
    }
  })
})
