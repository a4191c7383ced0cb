import type { SupplyUnit } from '../model/gear.ts'
import { judgeSupply } from '../wiring/budget.ts'
import { carries, type Feed, feedOf, ownFeed, supplyOnSignal, swapsSupply } from '../wiring/feed.ts'
import { receiverLoad } from '../wiring/load.ts'
import { broken, COMMON_PRACTICE, evidence, holds, type Remedy, type Rule } from './rule.ts'
import { type Situation, situationOf } from './situation.ts'

/** Rules about what feeds the receiver, and the cable. */

const cableRoute = (s: Situation) => s.route === 'cable'
const volts = (v: number) => `${v.toFixed(1)} V`

const loadOf = (s: Situation, feed: Feed) =>
  receiverLoad({ type: s.receiverType, byAir: s.route === 'wireless', feed, servos: s.model?.servos ?? 0 })

const verdictOf = (s: Situation, feed: Feed) => judgeSupply(feed, s.receiverType.supply, loadOf(s, feed))

/** Is it within the receiver's range, and does it carry the load? */
function suits(s: Situation, supply: SupplyUnit): boolean {
  const verdict = verdictOf(s, ownFeed(supply))
  return verdict.range === 'within' && verdict.carries
}

/** A regulator of five volts, or as near to it as the receiver's label allows. */
function regulatorFor(s: Situation): SupplyUnit {
  const { leastVolts, mostVolts } = s.receiverType.supply
  const wanted = Math.min(mostVolts, Math.max(leastVolts, 5))
  return {
    id: `regulator-for-${s.receiverType.id}`.slice(0, 64),
    nickname: `A regulator of ${volts(wanted)}`,
    kind: 'regulator',
    volts: wanted,
    internalOhms: 0.05,
    limitMilliamps: 3000,
  }
}

/** A supply of its own for the receiver: its own one if that suits, else another of the bench, else a new one. */
function giveSupply(s: Situation): Remedy {
  const own = s.supply && suits(s, s.supply) ? s.supply : undefined
  const found = own ?? s.bench.supplies.find(supply => suits(s, supply))
  const supply = found ?? regulatorFor(s)
  return {
    id: 'give-supply',
    label: found
      ? `Feed the receiver from ${supply.nickname}.`
      : `Feed the receiver from a supply of ${volts(supply.volts)} that is good for 3 A.`,
    apply: bench => ({
      ...bench,
      supplies: found ? bench.supplies : [...bench.supplies.filter(p => p.id !== supply.id), supply],
      models: bench.models.map(m => (m.id === s.model?.id ? { ...m, supplyId: supply.id } : m)),
      wiring: {
        ...bench.wiring,
        benchSupplyId: supply.id,
        ...(s.route === 'cable' ? { cableFeed: 'own-supply' as const } : {}),
      },
    }),
    minutes: 3,
    reversible: true,
  }
}

const feedFromCable: Remedy = {
  id: 'feed-through-cable',
  label: 'Unplug every other supply; let the update cable feed the receiver.',
  apply: bench => ({ ...bench, wiring: { ...bench.wiring, cableFeed: 'through-cable' } }),
  minutes: 1,
  reversible: true,
}
const straightCable: Remedy = {
  id: 'use-straight-cable',
  label:
    'Use a cable whose wires go straight through: signal to signal, positive to positive, negative to negative.',
  apply: bench => {
    const good = bench.cables.find(
      c =>
        !swapsSupply(c) &&
        !supplyOnSignal(c) &&
        carries(c, 'signal') &&
        carries(c, 'positive') &&
        carries(c, 'negative'),
    )
    if (good) return { ...bench, wiring: { ...bench.wiring, cableId: good.id } }
    const roles = ['signal', 'positive', 'negative'] as const
    const straight = {
      id: 'straight-cable',
      nickname: 'Straight cable',
      lengthMetres: 0.3,
      awg: 26,
      wires: roles.map(role => ({ from: role, to: role })),
    }
    return {
      ...bench,
      cables: [...bench.cables.filter(c => c.id !== straight.id), straight],
      wiring: { ...bench.wiring, cableId: straight.id },
    }
  },
  minutes: 5,
  reversible: true,
}

/** A straight cable brings power only where the port of the radio is known to give some and is to feed the receiver. */
function feedsThen(s: Situation, remedy: Remedy): boolean {
  const after = situationOf(remedy.apply(s.bench), s.receiver.id, s.route, s.image)
  return after !== undefined && feedOf(after).openVolts > 0
}

const supplyPresent: Rule = {
  id: 'supply-present',
  claim: 'Something feeds the receiver.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'physics',
  applies: () => true,
  check: s => {
    const feed = feedOf(s)
    const shown = [evidence('Fed by', feed.from), evidence('Without load', volts(feed.openVolts))]
    if (feed.openVolts !== 0) return holds(`The receiver is fed by ${feed.from}.`, shown)
    return broken('Nothing feeds the receiver.', shown, [
      giveSupply(s),
      ...(feedsThen(s, straightCable) ? [straightCable] : []),
    ])
  },
}

const supplyRange: Rule = {
  id: 'supply-range',
  claim: 'The supply is within what the receiver stands.',
  source: `${COMMON_PRACTICE}: the label of the receiver decides`,
  severity: 'block',
  enforcedBy: 'physics',
  applies: s => feedOf(s).openVolts > 0,
  check: s => {
    const feed = feedOf(s)
    const { openVolts } = feed
    const { range } = verdictOf(s, feed)
    const { leastVolts, mostVolts } = s.receiverType.supply
    const shown = [
      evidence('Supply', volts(openVolts)),
      evidence('Receiver stands', `${volts(leastVolts)} to ${volts(mostVolts)}`),
    ]
    if (range === 'within') return holds(`${volts(openVolts)} suits the receiver.`, shown)
    return broken(
      `${volts(openVolts)} is ${range === 'too-high' ? 'more' : 'less'} than the receiver stands (${volts(leastVolts)} to ${volts(mostVolts)}).`,
      shown,
      [giveSupply(s)],
    )
  },
}

const supplyLoad: Rule = {
  id: 'supply-load',
  claim: 'The supply carries the receiver while it starts, erases and writes.',
  source: "Ohm's law; what the type draws",
  severity: 'block',
  enforcedBy: 'physics',
  applies: s => feedOf(s).openVolts > 0,
  check: s => {
    const feed = feedOf(s)
    const { brownOutVolts, restartVolts } = s.receiverType.supply
    const { mostMilliamps } = loadOf(s, feed)
    const { lowestVolts: lowest, carries: carried } = verdictOf(s, feed)
    const shown = [
      evidence('Supply under load', `${volts(lowest)} at ${Math.round(mostMilliamps)} mA`),
      evidence('Receiver resets below', volts(brownOutVolts)),
      evidence('Receiver starts from', volts(restartVolts)),
    ]
    return carried
      ? holds(`The supply stands at ${volts(lowest)} under load.`, shown)
      : broken(
          `Under ${Math.round(mostMilliamps)} mA this supply falls to ${volts(lowest)}; the receiver would reset or not start.`,
          shown,
          [giveSupply(s)],
        )
  },
}

const supplyPolarity: Rule = {
  id: 'supply-polarity',
  claim: 'Positive meets positive and negative meets negative.',
  source: `${COMMON_PRACTICE}: reversed supply destroys a receiver at once`,
  severity: 'block',
  enforcedBy: 'physics',
  applies: cableRoute,
  check: s => {
    const shown = (s.cable?.wires ?? []).map(w => evidence(`${w.from} of the radio meets`, w.to))
    return swapsSupply(s.cable) || supplyOnSignal(s.cable)
      ? broken('This cable puts the supply on the wrong pins: it would destroy the receiver.', shown, [
          straightCable,
        ])
      : holds('The cable does not swap the supply.', shown)
  },
}

const describeBackFeed = (feed: Feed) => `${(feed.backFeedMilliamps / 1000).toFixed(1)} A`

const oneSupply: Rule = {
  id: 'one-supply',
  claim: 'A receiver that is fed through the update cable gets no second supply.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'physics',
  applies: cableRoute,
  check: s => {
    const feed = feedOf(s)
    const shown = [
      evidence('Fed by', feed.from),
      evidence('Current between the supplies', describeBackFeed(feed)),
    ]
    return s.wiring.cableFeed !== 'both'
      ? holds('There is one supply.', shown)
      : broken(`Two supplies feed the receiver; ${describeBackFeed(feed)} would flow between them.`, shown, [
          feedFromCable,
        ])
  },
}

const cableWires: Rule = {
  id: 'cable-wires',
  claim: 'The update cable carries signal and negative.',
  source: COMMON_PRACTICE,
  severity: 'block',
  enforcedBy: 'physics',
  applies: cableRoute,
  check: s => {
    const shown = [
      evidence('Cable', s.cable?.nickname ?? 'none'),
      evidence('Signal through', carries(s.cable, 'signal')),
      evidence('Negative through', carries(s.cable, 'negative')),
    ]
    return carries(s.cable, 'signal') && carries(s.cable, 'negative')
      ? holds('The cable carries signal and negative.', shown)
      : broken('Without both signal and negative nothing can be said over the cable.', shown, [straightCable])
  },
}

/** Asked in this order: what would destroy comes first. */
export const supplyRules: readonly Rule[] = [
  supplyPolarity,
  oneSupply,
  supplyPresent,
  supplyRange,
  supplyLoad,
  cableWires,
]
