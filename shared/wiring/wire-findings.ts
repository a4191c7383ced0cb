import type { WiringFinding } from './finding.ts'
import { sayMilliamps, sayVolts } from './finding.ts'
import type { Level, Nets } from './nets.ts'
import type { WireVerdict } from './roles.ts'
import type { Join, Setup } from './setup.ts'

/** What is wrong with single wires, and what the whole of them puts on a pin that no single wire shows. */

/** Below its own ground, or above what it stands, by more than this a pin of a chip conducts. Common practice, no source. */
export const BEYOND_VOLTS = 0.3
/** A supply that gives this much before the receiver draws anything runs into a short. */
const SHORT_MILLIAMPS = 20

export const pinName = (pins: readonly { readonly name: string }[], pin: number): string =>
  `${pin} (${pins[pin - 1]?.name ?? '?'})`

const DANGEROUS: ReadonlySet<string> = new Set([
  'supply-reversed',
  'supply-on-signal',
  'ground-on-positive',
  'ground-on-signal',
  'data-on-positive',
  'data-on-negative',
])

const consequence: Readonly<Record<Exclude<WireVerdict, 'right'> | 'no-pin', string>> = {
  'supply-reversed':
    'the supply comes to the pin where negative belongs. A reversed supply destroys a receiver at once.',
  'supply-on-signal': 'the supply comes to a signal pin, which a receiver does not survive.',
  'ground-on-positive':
    'ground comes to the pin where positive belongs: a supply would be reversed, or shorted.',
  'ground-on-signal': 'ground comes to the signal pin: the receiver would drive its answers into a short.',
  'data-on-positive': 'a data pin meets the supply: the supply would run back into the adapter.',
  'data-on-negative':
    'a data pin takes the place of ground: the current of the receiver would run back through it.',
  'unused-pin-driven': 'nobody knows what this pin of the receiver does.',
  'transmit-to-transmit':
    'both ends send on this wire and neither hears. What the adapter sends (TX) belongs to where the receiver hears.',
  'hears-nothing': 'the adapter would listen where the receiver never speaks.',
  'control-on-line': 'a control pin (DTR or RTS) would hold the line.',
  'data-on-control':
    'what the adapter sends would move a pin that starts the boot loader or resets the receiver.',
  'control-held': 'the pin would be held down for good, so that the receiver never runs as it should.',
  'no-pin': 'one of the two connectors has no such pin.',
}

function ofJoin(setup: Setup, nets: Nets, join: Join): WiringFinding[] {
  if (join.verdict === 'right') return []
  const { adapter, connector } = setup
  const wire = `The wire from pin ${pinName(adapter.pins, join.from)} of the adapter to pin ${pinName(connector.pins, join.to)} of the receiver is wrong`
  return [
    {
      code: join.verdict === 'no-pin' ? 'wire-to-no-pin' : join.verdict,
      severity: DANGEROUS.has(join.verdict) ? 'danger' : 'block',
      ...(join.verdict === 'no-pin' ? {} : { pin: join.to }),
      adapterPin: join.from,
      volts: nets.receiverPin(join.to)?.atRest,
      why: `${wire}: ${consequence[join.verdict]}`,
    },
  ]
}

/** A resistor or a diode belongs into no wire of the supply. */
function partsInSupply(setup: Setup): WiringFinding[] {
  return setup.joins.flatMap((join): WiringFinding[] => {
    const role = setup.adapter.pins[join.from - 1]?.role
    if (join.through === 'wire' || (role !== 'supply' && role !== 'ground')) return []
    return [
      {
        code: 'part-in-supply-wire',
        severity: 'block',
        pin: join.to,
        adapterPin: join.from,
        why: `There is a ${join.through} in the wire to pin ${pinName(setup.connector.pins, join.to)}: what it takes from the supply is not known here. A plain wire belongs there.`,
      },
    ]
  })
}

const reversed = (setup: Setup, rail: Level | undefined): WiringFinding[] =>
  rail !== undefined && rail.lowest < -BEYOND_VOLTS
    ? [
        {
          code: 'supply-reversed',
          severity: 'danger',
          pin: setup.connector.pins.findIndex(p => p.role === 'negative') + 1,
          volts: rail.lowest,
          why: `Between positive and negative of the receiver lie ${sayVolts(rail.lowest)}: the supply is reversed. It would destroy the receiver at once.`,
        },
      ]
    : []

/** What lies on a signal pin against the receiver's own negative. */
function onSignalPin(setup: Setup, nets: Nets, pin: number): WiringFinding[] {
  const level = nets.againstNegative(pin)
  if (level === undefined) return []
  const { signalVolts, toleratesVolts } = setup.entry
  const stands = typeof toleratesVolts === 'number' ? toleratesVolts : undefined
  const name = `Pin ${pinName(setup.connector.pins, pin)} of the receiver`
  if (level.lowest < -BEYOND_VOLTS)
    return [
      {
        code: 'signal-below-ground',
        severity: 'danger',
        pin,
        volts: level.lowest,
        why: `${name} would lie ${sayVolts(-level.lowest)} below the receiver’s own ground, which no signal pin stands.`,
      },
    ]
  // Half a tenth more than the level is what a source has without load.
  if (level.highest <= (stands ?? signalVolts * 1.05)) return []
  if (stands === undefined)
    return [
      {
        code: 'tolerance-not-known',
        severity: 'block',
        pin,
        volts: level.highest,
        why: `${name} would get ${sayVolts(level.highest)}; its own level is ${sayVolts(signalVolts)}, and whether it stands more is not known. Look it up, or take an adapter of ${sayVolts(signalVolts)}.`,
      },
    ]
  return [
    {
      code: 'signal-over-volts',
      severity: 'danger',
      pin,
      volts: level.highest,
      why: `${name} would get ${sayVolts(level.highest)} and stands ${sayVolts(stands)} at most.`,
    },
  ]
}

function onUnusedPin(setup: Setup, nets: Nets, pin: number): WiringFinding[] {
  const level = nets.receiverPin(pin)
  if (level === undefined || Math.max(level.highest, -level.lowest) < BEYOND_VOLTS) return []
  return [
    {
      code: 'unused-pin-driven',
      severity: 'block',
      pin,
      volts: level.highest,
      why: `Pin ${pinName(setup.connector.pins, pin)} of the receiver would get ${sayVolts(level.highest)}; nobody knows what this pin does.`,
    },
  ]
}

/** A data pin of the adapter that gets more than it stands, or less than its ground. */
function onAdapterPin(setup: Setup, nets: Nets, pin: number): WiringFinding[] {
  const { adapter, joins } = setup
  if (!/transmit|receive|single-wire|dtr|rts/.test(adapter.pins[pin - 1].role)) return []
  const level = joins.some(j => j.from === pin) ? nets.adapterPin(pin) : undefined
  if (level === undefined) return []
  const stands =
    typeof adapter.toleratesVolts === 'number'
      ? adapter.toleratesVolts
      : typeof adapter.signalVolts === 'number'
        ? adapter.signalVolts * 1.05
        : Number.POSITIVE_INFINITY
  if (level.highest <= stands && level.lowest >= -BEYOND_VOLTS) return []
  const volts = level.highest > stands ? level.highest : level.lowest
  return [
    {
      code: 'adapter-over-volts',
      severity: 'danger',
      adapterPin: pin,
      volts,
      why: `Pin ${pinName(adapter.pins, pin)} of the adapter would get ${sayVolts(volts)}, which it is not known to stand.`,
    },
  ]
}

/** Supplies give nothing before there is a load: what flows all the same flows through a short. */
function short(setup: Setup, nets: Nets): WiringFinding[] {
  const milliamps = nets.adapterSupplyMilliamps.highest
  if (setup.own !== undefined || milliamps <= SHORT_MILLIAMPS) return []
  return [
    {
      code: 'supply-short',
      severity: 'danger',
      why: `The wires short the supply of the adapter: ${sayMilliamps(milliamps)} would flow before the receiver draws anything.`,
    },
  ]
}

/** All that is wrong with the wires themselves; the worst first for each pin, the whole circuit as the last word. */
export function wireFindings(setup: Setup, nets: Nets): WiringFinding[] {
  const single = setup.joins.flatMap(join => ofJoin(setup, nets, join))
  const dangers = (found: readonly WiringFinding[]) => found.filter(f => f.severity === 'danger')
  const known = dangers(single)
  const roleOf = (pin: number | undefined) => setup.connector.pins[(pin ?? 0) - 1]?.role
  const powerIsWrong = known.some(f => roleOf(f.pin) === 'positive' || roleOf(f.pin) === 'negative')
  const whole = setup.connector.pins.flatMap(({ role }, i) => {
    const pin = i + 1
    if (role === 'positive' || role === 'negative' || single.some(f => f.pin === pin)) return []
    return role === 'not-used' ? onUnusedPin(setup, nets, pin) : onSignalPin(setup, nets, pin)
  })
  const atAdapter = setup.adapter.pins.flatMap((_, i) =>
    known.some(f => f.adapterPin === i + 1) ? [] : onAdapterPin(setup, nets, i + 1),
  )
  return [
    ...(powerIsWrong ? [] : reversed(setup, nets.railVolts)),
    ...single,
    ...whole,
    ...atAdapter,
    ...(known.length > 0 ? [] : short(setup, nets)),
    ...partsInSupply(setup),
  ]
}
