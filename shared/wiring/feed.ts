import type { RadioType } from '../model/catalogue.ts'
import type { CableUnit, SupplyUnit, Wiring } from '../model/gear.ts'
import { isKnown, type Route } from '../model/units.ts'
import { judgeWire, type WireVerdict } from './roles.ts'
import { leadOhms } from './wire.ts'

/** What feeds the receiver, as one source behind one resistance, and what is wrong with it electrically. */
export interface Feed {
  /** Where the power comes from, in words. */
  readonly from: string
  /** Without load, at the receiver's pins; negative when the cable swaps positive and negative. 0: nothing feeds. */
  readonly openVolts: number
  readonly seriesOhms: number
  readonly limitMilliamps: number
  readonly throughCable: boolean
  /** Current that two supplies drive through each other, when there are two, and what the weaker of them stands. */
  readonly backFeedMilliamps: number
  readonly backFeedLimitMilliamps: number
}

export interface Table {
  readonly route: Route
  readonly radioType: RadioType | undefined
  readonly supply: SupplyUnit | undefined
  readonly cable: CableUnit | undefined
  readonly wiring: Wiring
}

const NOTHING: Feed = {
  from: 'nothing',
  openVolts: 0,
  seriesOhms: 0,
  limitMilliamps: 0,
  throughCable: false,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
}

const LEAD_OF_SUPPLY = { lengthMetres: 0.3, awg: 22 }

const has = (cable: CableUnit | undefined, ...verdicts: readonly WireVerdict[]): boolean =>
  cable?.wires.some(w => verdicts.includes(judgeWire(w.from, w.to))) ?? false

/** Is this role carried through to the same role at the receiver's end? */
export const carries = (cable: CableUnit | undefined, role: 'signal' | 'positive' | 'negative'): boolean =>
  cable?.wires.some(w => w.from === role && judgeWire(w.from, w.to) === 'right') ?? false

/** Positive of the radio meets negative of the receiver, or the other way round. */
export const swapsSupply = (cable: CableUnit | undefined): boolean =>
  has(cable, 'supply-reversed', 'ground-on-positive')

/** Supply voltage on the signal pin: a plug that sits one pin off. */
export const supplyOnSignal = (cable: CableUnit | undefined): boolean => has(cable, 'supply-on-signal')

function portOf(table: Table) {
  const port = table.radioType?.updatePort
  return port !== undefined && isKnown(port) ? port : undefined
}

/** Volts that the port of the radio puts on the receiver's signal pin through this cable; 0 with a sound one. */
export const voltsOnSignalPin = (table: Table): number =>
  table.route === 'cable' && supplyOnSignal(table.cable) ? (portOf(table)?.supplyVolts ?? 0) : 0

/** A source at the far end of a cable. @param ohmsOfLead both conductors */
export const feedThrough = (
  from: string,
  source: { readonly volts: number; readonly sourceOhms: number; readonly limitMilliamps: number },
  ohmsOfLead: number,
): Feed => ({
  from,
  openVolts: source.volts,
  seriesOhms: source.sourceOhms + ohmsOfLead,
  limitMilliamps: source.limitMilliamps,
  throughCable: true,
  backFeedMilliamps: 0,
  backFeedLimitMilliamps: 0,
})

function cableFeed(table: Table): Feed {
  const port = portOf(table)
  const { cable } = table
  if (port === undefined || cable === undefined) return NOTHING
  const swapped = swapsSupply(cable)
  if (!swapped && !(carries(cable, 'positive') && carries(cable, 'negative'))) return NOTHING
  return feedThrough(
    'the port of the radio, through the cable',
    { ...port, volts: swapped ? -port.supplyVolts : port.supplyVolts },
    leadOhms(cable.lengthMetres, cable.awg),
  )
}

/** A pack or regulator on a lead of its own, 0.3 m of AWG 22 (common practice, no source). */
export function ownFeed(supply: SupplyUnit | undefined): Feed {
  if (supply === undefined) return NOTHING
  return {
    from: supply.nickname,
    openVolts: supply.volts,
    seriesOhms: supply.internalOhms + leadOhms(LEAD_OF_SUPPLY.lengthMetres, LEAD_OF_SUPPLY.awg),
    limitMilliamps: supply.limitMilliamps,
    throughCable: false,
    backFeedMilliamps: 0,
    backFeedLimitMilliamps: 0,
  }
}

/** Two sources in parallel, by Millman's theorem, and the current that circulates between them. */
export function feedBoth(a: Feed, b: Feed): Feed {
  if (a.openVolts === 0) return b
  if (b.openVolts === 0) return a
  const conductance = 1 / a.seriesOhms + 1 / b.seriesOhms
  return {
    from: `${a.from}, and ${b.from} at the same time`,
    openVolts: (a.openVolts / a.seriesOhms + b.openVolts / b.seriesOhms) / conductance,
    seriesOhms: 1 / conductance,
    limitMilliamps: a.limitMilliamps + b.limitMilliamps,
    throughCable: true,
    backFeedMilliamps: (Math.abs(a.openVolts - b.openVolts) / (a.seriesOhms + b.seriesOhms)) * 1000,
    backFeedLimitMilliamps: Math.min(a.limitMilliamps, b.limitMilliamps),
  }
}

/** @returns what feeds the receiver on this table */
export function feedOf(table: Table): Feed {
  if (table.route === 'wireless') return ownFeed(table.supply)
  switch (table.wiring.cableFeed) {
    case 'through-cable':
      return cableFeed(table)
    case 'own-supply':
      // A reversed cable does its harm whatever feeds the receiver.
      return swapsSupply(table.cable) ? cableFeed(table) : ownFeed(table.supply)
    case 'both':
      return feedBoth(cableFeed(table), ownFeed(table.supply))
  }
}

/** Volts at the receiver's pins under a load in milliamperes. */
export const voltsUnderLoad = (feed: Feed, milliamps: number, extraOhms = 0): number =>
  feed.openVolts - (milliamps / 1000) * (feed.seriesOhms + extraOhms)

/** The same with the limit of the source: beyond it a port or regulator folds back. */
export const voltsAt = (feed: Feed, milliamps: number, extraOhms = 0): number =>
  milliamps > feed.limitMilliamps && feed.limitMilliamps > 0
    ? (feed.openVolts * feed.limitMilliamps) / milliamps
    : voltsUnderLoad(feed, milliamps, extraOhms)
