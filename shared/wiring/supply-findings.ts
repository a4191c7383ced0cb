import { isKnown } from '../model/units.ts'
import { judgeSupply, type Load } from './budget.ts'
import { type Feed, feedBoth, feedThrough, ownFeed } from './feed.ts'
import type { WiringFinding } from './finding.ts'
import { sayMilliamps, sayVolts } from './finding.ts'
import { receiverLoad, sensorMilliamps } from './load.ts'
import type { Join, Setup } from './setup.ts'

/** What feeds the receiver: ground, one supply and no second, range, load. */

const joinTo = (setup: Setup, role: 'positive' | 'negative'): Join | undefined =>
  setup.joins.find(j => j.verdict === 'right' && setup.connector.pins[j.to - 1].role === role)

/** What the adapter feeds in; undefined where it feeds nothing, or what it gives is not known. */
export function adapterFeed(setup: Setup): Feed | undefined {
  const { adapter } = setup
  const [positive, negative] = [joinTo(setup, 'positive'), joinTo(setup, 'negative')]
  if (!positive || !negative || adapter.supply === undefined || !isKnown(adapter.supply)) return undefined
  return feedThrough(`${adapter.nickname}, through the cable`, adapter.supply, positive.ohms + negative.ohms)
}

/** Receiver, servos and sensors: all that hangs on the rail of the receiver, whoever feeds it. */
export function loadOf(setup: Setup, feed: Feed): Load {
  const { type, servos, sensors } = setup
  const load = receiverLoad({ type, byAir: false, feed: { ...feed, throughCable: false }, servos })
  const more = sensorMilliamps(sensors)
  return { startMilliamps: load.startMilliamps + more, mostMilliamps: load.mostMilliamps + more }
}

const pinOf = (setup: Setup, role: 'positive' | 'negative') =>
  setup.connector.pins.findIndex(p => p.role === role) + 1 || undefined

function ground(setup: Setup): WiringFinding {
  const pin = pinOf(setup, 'negative')
  return joinTo(setup, 'negative')
    ? { code: 'ground', severity: 'ok', pin, volts: 0, why: 'Adapter and receiver have one ground.' }
    : {
        code: 'no-ground',
        severity: 'block',
        pin,
        why: 'No wire joins the ground of the adapter and the negative of the receiver. Without a common ground no level means anything.',
      }
}

function twoSupplies(setup: Setup, cable: Feed, own: Feed): WiringFinding {
  const { backFeedMilliamps, backFeedLimitMilliamps, openVolts } = feedBoth(cable, own)
  const over = backFeedMilliamps > backFeedLimitMilliamps
  return {
    code: 'two-supplies',
    severity: over ? 'danger' : 'block',
    pin: pinOf(setup, 'positive'),
    volts: openVolts,
    why: `The adapter gives ${sayVolts(cable.openVolts)} and ${own.from} ${sayVolts(own.openVolts)} at the same time: ${sayMilliamps(backFeedMilliamps)} would flow from one into the other${over ? `, more than the ${sayMilliamps(backFeedLimitMilliamps)} that the weaker one is good for` : ''}. One supply only.`,
  }
}

function nothingFeeds(setup: Setup): WiringFinding {
  const { adapter, choices } = setup
  const pin = pinOf(setup, 'positive')
  const wired = joinTo(setup, 'positive') !== undefined
  if (wired && adapter.supply === 'unknown')
    return {
      code: 'supply-not-known',
      severity: 'block',
      pin,
      why: `What the supply pin of ${adapter.nickname} gives is not known. Measure it, and fill it in under Fleet.`,
    }
  return {
    code: 'no-supply',
    severity: 'block',
    pin,
    why:
      choices.feed === 'through-cable'
        ? wired
          ? `${adapter.nickname} has no supply, and nothing else feeds the receiver.`
          : 'No wire brings a supply to the receiver, and nothing else feeds it.'
        : 'The receiver is to have a supply of its own, but none is named.',
  }
}

/** Range and load of the one supply there is, at the pins of the receiver. */
export function budget(setup: Setup, feed: Feed): WiringFinding[] {
  const needs = setup.type.supply
  const load = loadOf(setup, feed)
  const verdict = judgeSupply(feed, needs, load)
  const pin = pinOf(setup, 'positive')
  const stands = `${sayVolts(needs.leastVolts)} to ${sayVolts(needs.mostVolts)}`
  if (verdict.range !== 'within')
    return [
      {
        code: verdict.range === 'too-high' ? 'supply-too-high' : 'supply-too-low',
        severity: verdict.range === 'too-high' ? 'danger' : 'block',
        pin,
        volts: feed.openVolts,
        why: `${feed.from} gives ${sayVolts(feed.openVolts)}; the receiver takes ${stands}.`,
      },
    ]
  const drop = (load.mostMilliamps / 1000) * feed.seriesOhms
  const draws = `The receiver${setup.servos > 0 ? `, ${setup.servos} servos at rest` : ''}${setup.sensors > 0 ? ` and ${setup.sensors} sensors` : ''} draw up to ${sayMilliamps(load.mostMilliamps)} while it is written`
  const limit = `${feed.from} is good for ${sayMilliamps(feed.limitMilliamps)}`
  if (!verdict.carries)
    return [
      {
        code: 'supply-load',
        severity: 'block',
        pin,
        volts: verdict.lowestVolts,
        why: `${draws}; ${limit}. At the pins ${sayVolts(verdict.lowestVolts)} would be left; the receiver resets below ${sayVolts(needs.brownOutVolts)} and starts from ${sayVolts(needs.restartVolts)}.`,
      },
    ]
  return [
    {
      code: 'budget',
      severity: 'ok',
      pin,
      volts: verdict.lowestVolts,
      why: `${draws}; ${limit}. Wires and source take ${Math.round(drop * 1000)} mV, ${sayVolts(verdict.lowestVolts)} are left at the pins.`,
    },
    ...servosOnAdapter(setup, feed),
  ]
}

/** At rest they draw little; one that moves may draw more than a USB port gives. */
function servosOnAdapter(setup: Setup, feed: Feed): WiringFinding[] {
  if (!feed.throughCable || setup.servos === 0) return []
  return [
    {
      code: 'servos-on-adapter',
      severity: 'warn',
      why: `Unplug the ${setup.servos} servos for the time of the update: one that moves may draw more than the ${sayMilliamps(feed.limitMilliamps)} of the adapter, and the receiver would reset in the middle.`,
    },
  ]
}

/** What stands in the way before anybody can say what feeds the receiver. */
function openQuestion(setup: Setup): WiringFinding | undefined {
  const { adapter, own, choices } = setup
  const wire = joinTo(setup, 'positive')
  if (wire !== undefined && adapter.supply === 'unknown') return nothingFeeds(setup)
  if (wire !== undefined && choices.feed !== 'through-cable' && own === undefined)
    return {
      code: 'supply-not-known',
      severity: 'block',
      pin: wire.to,
      why: 'The receiver is to have a supply of its own beside the adapter, but none is named: what the two would do to each other is not known.',
    }
  if (wire !== undefined && own !== undefined && adapter.supply === undefined)
    return {
      code: 'supply-into-adapter',
      severity: 'block',
      pin: wire.to,
      adapterPin: wire.from,
      volts: own.volts,
      why: `${own.nickname} would come to pin ${adapter.pins[wire.from - 1].name} of the adapter, which gives no supply itself; what it stands is not known. Take this wire out.`,
    }
  return undefined
}

/** @returns what stands about ground and supply; a supply on wrong pins is the business of the wires */
export function supplyFindings(setup: Setup): WiringFinding[] {
  const cable = adapterFeed(setup)
  const own = setup.own && ownFeed(setup.own)
  const question = openQuestion(setup)
  if (question) return [ground(setup), question]
  if (cable && own) return [ground(setup), twoSupplies(setup, cable, own)]
  const feed = cable ?? own
  if (feed === undefined) return [ground(setup), nothingFeeds(setup)]
  return [
    ground(setup),
    { code: 'one-supply', severity: 'ok', why: `One supply feeds the receiver: ${feed.from}.` },
    ...budget(setup, feed),
  ]
}
