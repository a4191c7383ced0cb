import { isKnown } from '../model/units.ts'
import { type Circuit, currentOf, islands, type Resistor, type Source, solve } from './circuit.ts'
import { ownFeed } from './feed.ts'
import type { Join, Setup } from './setup.ts'

/**
 * What adapter, cable and supply put on every pin before the receiver does anything: the circuit outside of the
 * receiver, solved with the adapter's outputs at rest and at every mixture of high and low.
 */

/** Of a usual output of 3.3 or 5 V logic. Common practice, no source. */
export const OUTPUT_OHMS = 50
/** What joins sending and hearing inside an adapter with a single-wire pin. Common practice, no source. */
const SINGLE_WIRE_OHMS = 1000
/** Within the device two pins of the same rail are one. */
const SAME_RAIL_OHMS = 1e-3
/** Where a level or a supply is not known, the worst that is usual. It is never counted as safe. */
const WORST_VOLTS = 5

export const toMillivolts = (volts: number): number => Math.round(volts * 1000) / 1000 || 0

/** Volts of one pin, or between two: at rest, and the least and most that the outputs can bring about. */
export interface Level {
  readonly atRest: number
  readonly lowest: number
  readonly highest: number
}

interface Output {
  readonly source: Source
  readonly high: number
  readonly restsHigh: boolean
}

export interface Nets {
  /** Of a pin of the receiver, counted from 1, against the adapter's ground, or the own supply's where there is no other. */
  readonly receiverPin: (pin: number) => Level | undefined
  readonly adapterPin: (pin: number) => Level | undefined
  /** Of one pin of the receiver against its negative pin. */
  readonly againstNegative: (pin: number) => Level | undefined
  /** Between positive and negative of the receiver. */
  readonly railVolts: Level | undefined
  /** What the supply pins of the adapter give before the receiver draws anything. */
  readonly adapterSupplyMilliamps: Level
  /** What the adapter's output at rest and the receiver drive through each other when this pin is at the other level. */
  readonly contentionMilliamps: (pin: number) => number
}

interface Build {
  readonly circuit: Circuit
  readonly outputs: readonly Output[]
  readonly supplies: readonly Source[]
  readonly adapterNode: (pin: number) => number
  readonly receiverNode: (pin: number) => number
  readonly positive: number | undefined
  readonly negative: number | undefined
}

const GROUND = 0

function build(setup: Setup): Build {
  const { adapter, connector, joins, own } = setup
  const adapterNode = (pin: number) => pin
  const receiverNode = (pin: number) => adapter.pins.length + pin
  const resistors: Resistor[] = []
  const sources: Source[] = []
  const outputs: Output[] = []
  const supplies: Source[] = []
  const high = isKnown(adapter.signalVolts) ? adapter.signalVolts : WORST_VOLTS
  adapter.pins.forEach(({ role }, i) => {
    const plus = adapterNode(i + 1)
    if (role === 'ground') resistors.push({ a: plus, b: GROUND, ohms: SAME_RAIL_OHMS })
    else if (role === 'supply' && adapter.supply !== undefined) {
      const { volts, sourceOhms } = isKnown(adapter.supply)
        ? adapter.supply
        : { volts: WORST_VOLTS, sourceOhms: 0.5 }
      supplies.push({ plus, minus: GROUND, volts, ohms: sourceOhms })
    } else if (role === 'transmit' || role === 'single-wire' || role === 'dtr' || role === 'rts')
      outputs.push({
        source: {
          plus,
          minus: GROUND,
          volts: 0,
          ohms: role === 'single-wire' ? SINGLE_WIRE_OHMS : OUTPUT_OHMS,
        },
        high,
        restsHigh: adapter.inverts !== true,
      })
  })
  // A diode to what the adapter sends on lets it pull down only: it brings no volts to the pin.
  const brings = (join: Join) =>
    join.through !== 'diode' || !outputs.some(o => o.source.plus === adapterNode(join.from))
  for (const join of joins)
    if (join.verdict !== 'no-pin' && brings(join))
      resistors.push({ a: adapterNode(join.from), b: receiverNode(join.to), ohms: join.ohms })
  const rail = (role: 'positive' | 'negative') => {
    const nodes = connector.pins.flatMap((pin, i) => (pin.role === role ? [receiverNode(i + 1)] : []))
    for (const node of nodes.slice(1)) resistors.push({ a: nodes[0], b: node, ohms: SAME_RAIL_OHMS })
    return nodes.at(0)
  }
  const positive = rail('positive')
  const negative = rail('negative')
  if (own && positive !== undefined && negative !== undefined)
    sources.push({
      plus: positive,
      minus: negative,
      volts: own.volts,
      ohms: ownFeed(own).seriesOhms,
    })
  const nodes = 1 + adapter.pins.length + connector.pins.length
  const circuit = { nodes, resistors, sources: [...sources, ...supplies, ...outputs.map(o => o.source)] }
  return { circuit, outputs, supplies, adapterNode, receiverNode, positive, negative }
}

type Volts = readonly (number | undefined)[]

/** The circuit is linear: what each output adds when it goes high adds up (superposition). */
function responses({ circuit, outputs, negative }: Build) {
  const references = negative === undefined ? [GROUND] : [GROUND, negative]
  const still = solve(circuit, references)
  const perOutput = outputs.map(({ source, high }) => {
    const sources = circuit.sources.map(s => ({ ...s, volts: s === source ? high : 0 }))
    return solve({ ...circuit, sources }, references)
  })
  return { still, perOutput }
}

/** @returns all there is to know about the pins, in volts; a pin that hangs on nothing has no level */
export function netsOf(setup: Setup): Nets {
  const made = build(setup)
  const { circuit, outputs, supplies, adapterNode, receiverNode, positive, negative } = made
  const { still, perOutput } = responses(made)
  const island = islands(circuit)

  /** Of anything linear in the volts. */
  const levelOf = (read: (volts: Volts) => number, readChange = read): Level => {
    const base = read(still)
    const changes = perOutput.map(readChange)
    const sum = (pick: (change: number, i: number) => number) =>
      changes.reduce((s, c, i) => s + pick(c, i), base)
    return {
      atRest: sum((c, i) => (outputs[i].restsHigh ? c : 0)),
      lowest: sum(c => Math.min(0, c)),
      highest: sum(c => Math.max(0, c)),
    }
  }
  const touched = (node: number) => island.some((root, i) => i !== node && root === island[node])
  const single = (node: number) =>
    still[node] === undefined || !touched(node) ? undefined : levelOf(volts => volts[node] ?? 0)
  const between = (a: number, b: number | undefined) =>
    b === undefined || island[a] !== island[b] || still[a] === undefined
      ? undefined
      : levelOf(volts => (volts[a] ?? 0) - (volts[b] ?? 0))

  const current = (volts: Volts) => supplies.reduce((sum, s) => sum + currentOf(s, volts) * 1000, 0)
  const change = (volts: Volts) =>
    supplies.reduce((sum, s) => sum + currentOf({ ...s, volts: 0 }, volts) * 1000, 0)

  return {
    receiverPin: pin => single(receiverNode(pin)),
    adapterPin: pin => single(adapterNode(pin)),
    againstNegative: pin => between(receiverNode(pin), negative),
    railVolts: positive === undefined ? undefined : between(positive, negative),
    adapterSupplyMilliamps: levelOf(current, change),
    contentionMilliamps: pin => contention(setup, made, receiverNode(pin)),
  }
}

/**
 * The receiver pulls its pin to the other level than the adapter rests at, as it does in every answer. Diodes are out
 * of this: they block while the adapter rests high, and on an inverted line they are refused for that alone.
 */
function contention(setup: Setup, { circuit, outputs }: Build, node: number): number {
  const restsHigh = setup.adapter.inverts !== true
  const answer: Source = {
    plus: node,
    minus: GROUND,
    volts: restsHigh ? 0 : setup.entry.signalVolts,
    ohms: OUTPUT_OHMS,
  }
  const rest = outputs.map(o => ({ ...o.source, volts: o.restsHigh ? o.high : 0 }))
  const others = circuit.sources.filter(s => !outputs.some(o => o.source === s))
  const volts = solve({ ...circuit, sources: [...others, ...rest, answer] }, [GROUND])
  return Math.abs(currentOf(answer, volts)) * 1000
}
