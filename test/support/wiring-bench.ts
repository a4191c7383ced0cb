import { demoBench } from '../../shared/demo/bench.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Connector, ReceiverType } from '../../shared/model/catalogue.ts'
import type { AdapterUnit, CableUnit, PinWire } from '../../shared/model/gear.ts'
import { checkWiring, type WiringCheck } from '../../shared/wiring/check.ts'
import type { WiringFinding } from '../../shared/wiring/finding.ts'
import type { Setup, WiringRequest } from '../../shared/wiring/setup.ts'

const demo = demoBench()

/** A bench with one adapter, one cable and the Wren of the demo, each with what is to be otherwise. */
export interface WiringChange {
  readonly adapter?: Partial<AdapterUnit>
  readonly cable?: Partial<CableUnit>
  readonly connector?: Partial<Connector>
  readonly bus?: Partial<ReceiverType['bus']>
  readonly supply?: Partial<ReceiverType['supply']>
  readonly own?: { readonly volts: number; readonly internalOhms?: number; readonly limitMilliamps?: number }
  readonly servos?: number
}

export const DIRECT: readonly PinWire[] = [
  { from: 1, to: 3, through: 'wire' },
  { from: 2, to: 2, through: 'wire' },
  { from: 3, to: 1, through: 'resistor', ohms: 1000 },
  { from: 4, to: 1, through: 'wire' },
]

export const wires = (...pairs: readonly (readonly [number, number])[]): PinWire[] =>
  pairs.map(([from, to]) => ({ from, to, through: 'wire' }))

export function wiringBench(change: WiringChange = {}): Bench {
  const { catalogue } = demo
  return {
    ...demo,
    catalogue: {
      ...catalogue,
      connectors: catalogue.connectors.map(c => ({ ...c, ...change.connector })),
      receiverTypes: catalogue.receiverTypes.map(t => ({
        ...t,
        bus: { ...t.bus, ...change.bus },
        supply: { ...t.supply, ...change.supply },
      })),
    },
    adapters: [{ ...demo.adapters[0], id: 'adapter', ...change.adapter }],
    cables: [
      {
        id: 'cable',
        nickname: 'The cable',
        lengthMetres: 0.3,
        awg: 26,
        wires: [],
        pinWires: [...DIRECT],
        plugKeyed: true,
        ...change.cable,
      },
    ],
    supplies: [
      {
        id: 'own',
        nickname: 'Pack',
        kind: 'pack',
        volts: 5,
        internalOhms: 0.1,
        limitMilliamps: 3000,
        ...change.own,
      },
    ],
    models: demo.models.map(m => ({ ...m, supplyId: 'own', servos: change.servos ?? 0 })),
    sensors: [],
  }
}

export function check(change: WiringChange = {}, request: Partial<WiringRequest> = {}): WiringCheck {
  const done = checkWiring({
    bench: wiringBench(change),
    receiverId: 'wren-trainer',
    adapterId: 'adapter',
    cableId: 'cable',
    feed: 'through-cable',
    ...request,
  })
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value
}

export function setupWith(change: WiringChange = {}, request: Partial<WiringRequest> = {}): Setup {
  const { setup } = check(change, request)
  if (setup === undefined) throw new Error('the type is not known')
  return setup
}

export const codes = (findings: readonly WiringFinding[], severity?: WiringFinding['severity']): string[] =>
  findings.filter(f => severity === undefined || f.severity === severity).map(f => f.code)
