import type { PinRole } from '../../../shared/model/catalogue.ts'
import type { AdapterRole } from '../../../shared/model/gear.ts'
import { sayVolts } from '../../../shared/wiring/finding.ts'
import type { Flow, PinState, WireState } from '../../../shared/wiring/pins.ts'
import type { Setup } from '../../../shared/wiring/setup.ts'

/** Where the parts of the drawing stand. Pure, so that it can be checked without a screen. */

export const WIDTH = 700
export const PITCH = 72
const TOP = 44
export const LEFT = { x: 132, width: 48 } as const
export const RIGHT = { x: 452, width: 48 } as const
const LEAD_END = LEFT.x + LEFT.width + 122
/** Wires from the same pin run this far apart, so that each can be followed. */
const APART = 9

export interface PlacedPin {
  readonly pin: number
  readonly name: string
  readonly shape: PinRole
  readonly y: number
}

export interface PlacedWire {
  readonly wire: WireState
  readonly path: string
  /** Where it leaves the adapter. */
  readonly y: number
  readonly endY: number
  /** In the middle of the part that curves. */
  readonly middle: { readonly x: number; readonly y: number }
  readonly label: string
  readonly part: string | undefined
}

export interface WiringLayout {
  readonly height: number
  readonly left: readonly PlacedPin[]
  readonly right: readonly PlacedPin[]
  readonly wires: readonly PlacedWire[]
}

const shapeOf: Readonly<Record<AdapterRole, PinRole>> = {
  ground: 'negative',
  supply: 'positive',
  transmit: 'transmit',
  receive: 'receive',
  'single-wire': 'signal',
  dtr: 'boot',
  rts: 'reset',
  'not-used': 'not-used',
}

const MOST_LETTERS = 9
const shorten = (text: string) =>
  text.length <= MOST_LETTERS ? text : `${text.slice(0, MOST_LETTERS - 1).trimEnd()}…`

/** The shorter connector stands in the middle of the longer one. */
function places(count: number, longest: number): number[] {
  const from = TOP + ((longest - count) * PITCH) / 2
  return Array.from({ length: count }, (_, i) => from + PITCH * (i + 0.5))
}

const arrows: Readonly<Record<Flow, string>> = { in: '→', out: '←', both: '↔', return: '', none: '' }

/** What flows, said beside the wire where it leaves the adapter. */
function labelOf(wire: WireState, volts: number | undefined): string {
  if (wire.flow === 'none') return 'nothing'
  if (wire.flow === 'out') return `${arrows.out} answers`
  const what = wire.flow === 'return' ? 'ground' : volts === undefined ? 'signal' : sayVolts(volts)
  return `${what} ${arrows[wire.flow]}`.trim()
}

function partOf(wire: WireState): string | undefined {
  if (wire.through === 'wire') return undefined
  if (wire.through === 'diode') return 'diode'
  const ohms = Math.round(wire.ohms)
  return ohms >= 1000 ? `${Number((ohms / 1000).toPrecision(2))} kΩ` : `${ohms} Ω`
}

/** What fits beside a pin of the receiver, at the size in which it is drawn. */
const MOST_BESIDE = 34

/** @returns what a pin gets in one line, or in two where one would run out of the drawing: broken at its comma */
export function linesBeside(words: string): readonly string[] {
  const comma = words.indexOf(', ')
  if (words.length <= MOST_BESIDE || comma < 0) return [words]
  return [words.slice(0, comma + 1), words.slice(comma + 2)]
}

/**
 * @param voltsOf what a pin of the adapter has at rest
 * @returns places in the units of the drawing; wires that name a pin that is not there are left out
 */
export function layOutWiring(
  setup: Setup,
  wires: readonly WireState[],
  voltsOf: (adapterPin: number) => number | undefined,
): WiringLayout {
  const { adapter, connector } = setup
  const longest = Math.max(adapter.pins.length, connector.pins.length)
  const [leftY, rightY] = [places(adapter.pins.length, longest), places(connector.pins.length, longest)]
  const seen = new Map<string, number>()
  const nth = (end: string) => {
    const n = seen.get(end) ?? 0
    seen.set(end, n + 1)
    return n
  }
  const placed = wires
    .filter(wire => wire.verdict !== 'no-pin')
    .map((wire): PlacedWire => {
      const y = leftY[wire.from - 1] + APART * nth(`from ${wire.from}`)
      const endY = rightY[wire.to - 1] + APART * nth(`to ${wire.to}`)
      const [start, bend] = [LEFT.x + LEFT.width, (LEAD_END + RIGHT.x) / 2]
      return {
        wire,
        path: `M${start} ${y}H${LEAD_END}C${bend} ${y} ${bend} ${endY} ${RIGHT.x} ${endY}`,
        y,
        endY,
        middle: { x: bend, y: (y + endY) / 2 },
        label: labelOf(wire, voltsOf(wire.from)),
        part: partOf(wire),
      }
    })
  return {
    height: TOP + longest * PITCH + (setup.own ? 72 : 12),
    left: adapter.pins.map((p, i) => ({
      pin: i + 1,
      name: shorten(p.name),
      shape: shapeOf[p.role],
      y: leftY[i],
    })),
    right: connector.pins.map((p, i) => ({ pin: i + 1, name: shorten(p.name), shape: p.role, y: rightY[i] })),
    wires: placed,
  }
}

/** The drawing in words, for those who do not see it. */
export function sayWiring(setup: Setup, pins: readonly PinState[], wires: readonly WireState[]): string {
  const all = wires.map(w => `${w.words}${w.state === 'right' ? '' : `, ${w.state.replace('-', ' ')}`}`)
  const got = pins.map(p => `pin ${p.pin} ${p.name}: ${p.words}`)
  return `${setup.adapter.nickname} on the left, the connector of ${setup.receiverName} on the right. Wires: ${all.length === 0 ? 'none' : all.join('; ')}. The receiver gets: ${got.join('; ')}.`
}
