import type { Dialect } from '../dialect/schema.ts'
import { around, type Bench, findType } from '../model/bench.ts'
import type { Connector, ReceiverType } from '../model/catalogue.ts'
import type { AdapterUnit, CableUnit, PinWire, SupplyUnit, Wiring } from '../model/gear.ts'
import { failed, oneOf, type Problem, type Result, succeeded } from '../model/problem.ts'
import { isKnown, type Known } from '../model/units.ts'
import { type Entry, entryOf } from './entry.ts'
import { carriedBy, judgeWire, type WireVerdict } from './roles.ts'
import { awgOhmsPerMetre } from './wire.ts'

export type Controls = NonNullable<Dialect['line']['controls']>

/** How the line of a boot loader lies and is used; a dialect knows it. */
export interface Line {
  readonly inverted: Known<boolean>
  /** `half`: one speaks at a time, which one wire can carry. */
  readonly duplex: 'half' | 'full'
  /** What the control lines of the port do at the receiver; without it, the way of writing leaves them alone. */
  readonly controls?: Controls
}

/** What a person chooses at the wiring of an adapter. */
export interface WiringChoices {
  readonly adapterId: string
  readonly cableId: string
  readonly feed: Wiring['cableFeed']
  /** The supply of the receiver's own; without it, that of its model, or the one for the bench. */
  readonly supplyId?: string
}

export interface WiringRequest extends WiringChoices {
  readonly bench: Bench
  readonly receiverId: string
  /** Without it, as the type says, one way at a time. */
  readonly line?: Line | undefined
  /** What is to be spoken, by the name of its dialect: a receiver may have a connector of its own for it. */
  readonly dialect?: string | undefined
}

/** One conductor of the cable. */
export interface Join {
  /** Pins counted from 1. */
  readonly from: number
  readonly to: number
  readonly through: PinWire['through']
  /** Of the wire, and of the resistor if there is one. */
  readonly ohms: number
  /** `no-pin`: one of its ends is a pin that the connector does not have. */
  readonly verdict: WireVerdict | 'no-pin'
}

/** Adapter, cable and receiver put together, as the check looks at them. */
export interface Setup {
  readonly bench: Bench
  readonly choices: WiringChoices
  readonly adapter: AdapterUnit
  readonly cable: CableUnit
  readonly type: ReceiverType
  readonly receiverName: string
  /** Where the cable goes in. */
  readonly entry: Entry
  readonly connector: Connector
  readonly joins: readonly Join[]
  /** Fed in beside the cable; undefined where the choice is to feed through the cable alone. */
  readonly own: SupplyUnit | undefined
  readonly line: Line
  readonly servos: number
  readonly sensors: number
}

const missing = (
  field: string,
  what: string,
  id: string,
  ids: readonly { readonly id: string }[],
): Problem => ({
  code: `wiring.no-${field}`,
  field,
  message: `There is no ${what} called "${id}" on this bench.`,
  expected: oneOf(
    ids.map(i => i.id),
    `a ${what}; this bench has none yet`,
  ),
})

/** The wires of a cable from pin to pin; those of an update cable lead from role to role, to the first pin of each. */
export function pinWiresOf(cable: CableUnit, adapter: AdapterUnit, connector: Connector): readonly PinWire[] {
  if (cable.pinWires !== undefined) return cable.pinWires
  const roles = { signal: 'single-wire', positive: 'supply', negative: 'ground' } as const
  return cable.wires.flatMap(wire => {
    const from = adapter.pins.findIndex(pin => pin.role === roles[wire.from]) + 1
    const to = connector.pins.findIndex(pin => pin.role === wire.to) + 1
    return from > 0 && to > 0 ? [{ from, to, through: 'wire' as const }] : []
  })
}

/** A resistor whose value nobody has given does not count as one. */
const partOhms = (wire: PinWire) => (wire.through === 'resistor' ? (wire.ohms ?? 0) : 0)

export function joinsOf(cable: CableUnit, adapter: AdapterUnit, connector: Connector): Join[] {
  return pinWiresOf(cable, adapter, connector).map(wire => {
    const from = adapter.pins[wire.from - 1]
    const to = connector.pins[wire.to - 1]
    return {
      from: wire.from,
      to: wire.to,
      through: wire.through,
      ohms: cable.lengthMetres * awgOhmsPerMetre(cable.awg) + partOhms(wire),
      verdict: from && to ? judgeWire(carriedBy[from.role], to.role) : 'no-pin',
    }
  })
}

/** A line of two pins carries both ways at once; one pin carries one way at a time. */
const lineOf = ({ inverted }: Entry): Line => ({ inverted, duplex: 'half' })

/**
 * Gathers what a check of the wiring looks at.
 * @returns problems that name the choice that is not on the bench; `undefined` where the type of the receiver, and so
 * its connector, is not known
 */
export function setupOf(request: WiringRequest): Result<Setup | undefined> {
  const { bench, receiverId, adapterId, cableId, feed, supplyId } = request
  const { receiver, model, supply: usual, sensors } = around(bench, receiverId)
  const adapter = bench.adapters.find(a => a.id === adapterId)
  const cable = bench.cables.find(c => c.id === cableId)
  const supply = supplyId === undefined ? usual : bench.supplies.find(s => s.id === supplyId)
  const problems = [
    ...(receiver ? [] : [missing('receiver', 'receiver', receiverId, bench.receivers)]),
    ...(adapter ? [] : [missing('adapter', 'adapter', adapterId, bench.adapters)]),
    ...(cable ? [] : [missing('cable', 'cable', cableId, bench.cables)]),
    ...(supplyId !== undefined && !supply ? [missing('supply', 'supply', supplyId, bench.supplies)] : []),
  ]
  if (!receiver || !adapter || !cable || problems.length > 0)
    return failed(problems[0] as Problem, ...problems.slice(1))
  if (!isKnown(receiver.typeId)) return succeeded(undefined)
  const type = findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  const entry = type && entryOf(type, { dialect: request.dialect, duplex: request.line?.duplex })
  const connector = entry && findType(bench.catalogue, 'connectors', entry.connectorId)
  if (!type || !connector) return succeeded(undefined)
  return succeeded({
    bench,
    choices: { adapterId, cableId, feed, supplyId },
    adapter,
    cable,
    type,
    receiverName: receiver.nickname,
    entry,
    connector,
    joins: joinsOf(cable, adapter, connector),
    own: feed === 'through-cable' ? undefined : supply,
    line: request.line ?? lineOf(entry),
    servos: model?.servos ?? 0,
    sensors: sensors.length,
  })
}
