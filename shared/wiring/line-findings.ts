import { isKnown } from '../model/units.ts'
import type { WiringFinding } from './finding.ts'
import { sayMilliamps, sayVolts } from './finding.ts'
import type { Nets } from './nets.ts'
import type { Join, Setup } from './setup.ts'
import { pinName } from './wire-findings.ts'

/** Whether the two can talk: both ways joined, levels and polarity of the line. */

/** What a usual output may carry against another and still be sure of its level. Common practice, no source. */
const MOST_CONTENTION_MILLIAMPS = 8
/** Through more than this a line rises too slowly at the rates of boot loaders. Common practice, no source. */
const MOST_JOIN_OHMS = 10_000
/** An input of CMOS logic takes this much of its own supply for high. Common practice, no source. */
const HIGH_SHARE = 0.7
/** An input of TTL or 3.3 V logic takes this for high: JEDEC JESD8C, input high voltage, from memory. */
const TTL_HIGH_VOLTS = 2

interface Ways {
  /** Wires on which the receiver hears the adapter. */
  readonly out: readonly Join[]
  /** Wires on which the adapter hears the receiver. */
  readonly back: readonly Join[]
}

function waysOf(setup: Setup): Ways {
  const right = setup.joins.filter(j => j.verdict === 'right')
  const adapterRole = (j: Join) => setup.adapter.pins[j.from - 1].role
  const pinRole = (j: Join) => setup.connector.pins[j.to - 1].role
  return {
    out: right.filter(
      j => /^(transmit|single-wire)$/.test(adapterRole(j)) && /^(signal|receive)$/.test(pinRole(j)),
    ),
    back: right.filter(
      j => /^(receive|single-wire)$/.test(adapterRole(j)) && /^(signal|transmit)$/.test(pinRole(j)),
    ),
  }
}

const signalPin = (setup: Setup) =>
  setup.connector.pins.findIndex(p => /signal|receive|transmit/.test(p.role)) + 1 || undefined

function joined(setup: Setup, { out, back }: Ways): WiringFinding[] {
  const block = (code: 'not-connected' | 'transmit-only' | 'receive-only', why: string): WiringFinding[] => [
    { code, severity: 'block', pin: out[0]?.to ?? back[0]?.to ?? signalPin(setup), why },
  ]
  if (out.length === 0 && back.length === 0)
    return block(
      'not-connected',
      'No wire joins the line of the receiver to what the adapter sends and hears.',
    )
  if (back.length === 0)
    return block(
      'transmit-only',
      'The adapter can send, but no wire brings back what the receiver answers: what the adapter hears (RX) is not joined.',
    )
  if (out.length === 0)
    return block(
      'receive-only',
      'The adapter can only listen: what it sends (TX) comes to no pin on which the receiver hears.',
    )
  const twoPins = !out.some(j => back.some(b => b.to === j.to))
  if (setup.line.duplex === 'full' && !twoPins)
    return [
      {
        code: 'needs-two-lines',
        severity: 'block',
        pin: out[0].to,
        why: 'This way of writing speaks in both directions at once, which the one line of this receiver cannot carry. Choose one that speaks over one wire.',
      },
    ]
  return [
    {
      code: 'line',
      severity: 'ok',
      pin: out[0].to,
      why: 'The adapter is heard by the receiver, and hears it.',
    },
  ]
}

/** Where the adapter sends onto a line that the receiver answers on, something has to give way. */
function giveWay(setup: Setup, nets: Nets, { out }: Ways): WiringFinding[] {
  const shared = out.filter(j => setup.connector.pins[j.to - 1].role === 'signal')
  return shared.flatMap((join): WiringFinding[] => {
    const name = pinName(setup.connector.pins, join.to)
    const at = { pin: join.to, adapterPin: join.from }
    if (join.through === 'diode' && setup.line.inverted === true)
      return [
        {
          ...at,
          code: 'diode-on-inverted',
          severity: 'block',
          why: `The diode to pin ${name} lets the adapter pull the line down; an inverted line is pulled up. A resistor of 1 kΩ does both.`,
        },
      ]
    if (join.through === 'diode')
      return [
        {
          ...at,
          code: 'diode-pull-up',
          severity: 'warn',
          why: `A diode lets the adapter pull pin ${name} down only: something at the receiver has to hold the line up, or nothing is heard.`,
        },
      ]
    const milliamps = nets.contentionMilliamps(join.to)
    if (milliamps > MOST_CONTENTION_MILLIAMPS)
      return [
        {
          ...at,
          code: 'join-without-part',
          severity: 'block',
          why: `Adapter and receiver would drive pin ${name} against each other with ${sayMilliamps(milliamps)} in every answer. What the adapter sends (TX) has to go through a resistor of about 1 kΩ, or a diode.`,
        },
      ]
    if (join.ohms > MOST_JOIN_OHMS)
      return [
        {
          ...at,
          code: 'join-weak',
          severity: 'warn',
          why: `Through ${Math.round(join.ohms / 1000)} kΩ the line to pin ${name} rises slowly; 1 kΩ is usual.`,
        },
      ]
    return []
  })
}

/** With its ring at the adapter's end, a diode lets nothing of a low answer through. */
const diodesInAnswers = (setup: Setup, { back }: Ways): WiringFinding[] =>
  back
    .filter(join => join.through === 'diode')
    .map(join => ({
      code: 'diode-in-answer',
      severity: 'block',
      pin: join.to,
      adapterPin: join.from,
      why: `The diode in the wire to pin ${pinName(setup.connector.pins, join.to)} lets no answer of the receiver through. A plain wire belongs there.`,
    }))

function polarity({ adapter, line, type }: Setup): WiringFinding {
  const { inverted } = line
  if (!isKnown(inverted) || !isKnown(adapter.inverts))
    return {
      code: 'inversion-not-known',
      severity: 'block',
      why: isKnown(inverted)
        ? `Whether the lines of ${adapter.nickname} are inverted is not known.`
        : `Whether the line of the ${type.name} is inverted is not known.`,
    }
  if (inverted === adapter.inverts)
    return {
      code: 'polarity',
      severity: 'ok',
      why: `Both ends rest ${inverted ? 'low' : 'high'}: ${inverted ? 'the line is inverted at both' : 'nothing is inverted'}.`,
    }
  return {
    code: 'inverted-line',
    severity: 'block',
    why: `${inverted ? 'The line of the receiver is inverted, those of the adapter are not' : 'The lines of the adapter are inverted, that of the receiver is not'}: all that is sent would be heard upside down.`,
  }
}

/** Too little for one end to be sure of. @param who the end that gives, and the one that has to be sure */
function tooLow(
  gives: number,
  own: number,
  who: { readonly gives: string; readonly hears: string },
): WiringFinding[] {
  if (gives >= HIGH_SHARE * own) return []
  const sure = gives >= TTL_HIGH_VOLTS
  return [
    {
      code: 'level-too-low',
      severity: sure ? 'warn' : 'block',
      volts: gives,
      why: `The ${who.gives} gives ${sayVolts(gives)} for high; the ${who.hears}, with a level of ${sayVolts(own)}, ${sure ? 'may not be' : 'is not'} sure of it.`,
    },
  ]
}

/** What comes back to the adapter. Too much for the receiver is the business of the wires. */
function backToAdapter({ adapter }: Setup, theirs: number, own: number): WiringFinding[] {
  const stands = adapter.toleratesVolts
  if (isKnown(stands))
    return theirs <= stands
      ? []
      : [
          {
            code: 'adapter-over-volts',
            severity: 'danger',
            volts: theirs,
            why: `The receiver answers with ${sayVolts(theirs)}; the data pins of ${adapter.nickname} stand ${sayVolts(stands)} at most.`,
          },
        ]
  return theirs <= own
    ? []
    : [
        {
          code: 'tolerance-not-known',
          severity: 'block',
          volts: theirs,
          why: `The receiver answers with ${sayVolts(theirs)}; whether the data pins of ${adapter.nickname} stand that is not known.`,
        },
      ]
}

function levels(setup: Setup): WiringFinding[] {
  const { adapter, entry } = setup
  const theirs = entry.signalVolts
  if (!isKnown(adapter.signalVolts))
    return [
      {
        code: 'level-not-known',
        severity: 'block',
        why: `What level the data pins of ${adapter.nickname} give is not known. Measure what it sends on (TX) while nothing is sent.`,
      },
    ]
  const own = adapter.signalVolts
  const found = [
    ...tooLow(own, theirs, { gives: 'adapter', hears: 'receiver' }),
    ...tooLow(theirs, own, { gives: 'receiver', hears: 'adapter' }),
    ...backToAdapter(setup, theirs, own),
  ]
  if (found.length > 0) return found
  return [{ code: 'levels', severity: 'ok', why: `Both ends know ${sayVolts(theirs)} for high.` }]
}

/** @returns all about the line; what is wrong with single wires is the business of the wires */
export function lineFindings(setup: Setup, nets: Nets): WiringFinding[] {
  const ways = waysOf(setup)
  return [
    ...joined(setup, ways),
    ...giveWay(setup, nets, ways),
    ...diodesInAnswers(setup, ways),
    polarity(setup),
    ...levels(setup),
  ]
}
