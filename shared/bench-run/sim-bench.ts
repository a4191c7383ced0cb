import { around, type Bench } from '../model/bench.ts'
import type { SupplyUnit } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import { leadOhms } from '../wiring/wire.ts'
import type { WritePlan } from './plan.ts'

const CABLE_ID = 'twin-of-the-programmer-cable'
const SUPPLY_ID = 'twin-of-the-supply'

/** Where nobody has said what the adapter gives, the check of the wiring refuses before anything is rehearsed. */
const USB: Pick<SupplyUnit, 'volts' | 'internalOhms' | 'limitMilliamps'> = {
  volts: 5,
  internalOhms: 0.5,
  limitMilliamps: 500,
}

function supplyOf({ bench, receiverId, adapterId, cableId, feed, supplyId }: WritePlan): SupplyUnit {
  const about = { id: SUPPLY_ID, kind: 'usb' as const }
  if (feed !== 'through-cable') {
    const usual = around(bench, receiverId).supply
    const own = supplyId === undefined ? usual : bench.supplies.find(s => s.id === supplyId)
    if (own !== undefined) return { ...own, ...about, kind: own.kind }
  }
  const adapter = bench.adapters.find(a => a.id === adapterId)
  const cable = bench.cables.find(c => c.id === cableId)
  const gives = adapter?.supply !== undefined && isKnown(adapter.supply) ? adapter.supply : undefined
  const ohms = cable ? leadOhms(cable.lengthMetres, cable.awg) : 0
  return {
    ...about,
    nickname: adapter?.nickname ?? 'Adapter',
    volts: gives?.volts ?? USB.volts,
    internalOhms: (gives?.sourceOhms ?? USB.internalOhms) + ohms,
    limitMilliamps: gives?.limitMilliamps ?? USB.limitMilliamps,
  }
}

/**
 * The bench with the programmer in place of the radio: what feeds the receiver in this plan is its own supply, and the
 * line is whole, as the check of the wiring has shown. Servos draw nothing while the adapter feeds it.
 */
export function simBench(plan: WritePlan): Bench {
  const { bench, receiverId, feed } = plan
  const inModel = bench.models.map(m =>
    m.receiverIds.includes(receiverId)
      ? { ...m, supplyId: SUPPLY_ID, servos: feed === 'through-cable' ? 0 : m.servos }
      : m,
  )
  return {
    ...bench,
    models: inModel,
    supplies: [...bench.supplies, supplyOf(plan)],
    cables: [
      ...bench.cables,
      {
        id: CABLE_ID,
        nickname: 'Programmer cable',
        lengthMetres: 0.3,
        awg: 26,
        wires: [
          { from: 'signal', to: 'signal' },
          { from: 'negative', to: 'negative' },
        ],
      },
    ],
    wiring: { ...bench.wiring, cableId: CABLE_ID, cableFeed: 'own-supply', benchSupplyId: SUPPLY_ID },
  }
}
