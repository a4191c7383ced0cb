import type { Bench } from '../model/bench.ts'
import type { PinWire } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import { coreFindings, isSafe } from './core.ts'
import type { Cure, WiringFinding } from './finding.ts'
import { type Setup, setupOf, type WiringChoices, type WiringRequest } from './setup.ts'

/**
 * Changes that would cure a finding. Each is tried on a copy: only what makes the finding go away, and brings no danger
 * with it, is offered; what makes everything safe comes first.
 */

/** More of each kind are not tried: somebody with so many finds one of them in the list. */
const MOST_TRIED = 40

const JOIN_OHMS = 1000

interface Tried {
  readonly cure: Cure
  readonly findings: readonly WiringFinding[]
}

/** How the wires of this cable would have to run between these two. */
export function soundWires(setup: Setup): PinWire[] | undefined {
  const { adapter, connector, own } = setup
  const at = (role: string) => adapter.pins.findIndex(p => p.role === role) + 1
  const to = (...roles: readonly string[]) => connector.pins.findIndex(p => roles.includes(p.role)) + 1
  const wire = (from: number, pin: number): PinWire => ({ from, to: pin, through: 'wire' })
  const ends = [at('ground'), to('negative')] as const
  const single = at('single-wire')
  const signal = to('signal')
  const line: PinWire[] =
    single > 0 && signal > 0
      ? [wire(single, signal)]
      : signal > 0
        ? [
            { from: at('transmit'), to: signal, through: 'resistor', ohms: JOIN_OHMS },
            wire(at('receive'), signal),
          ]
        : [wire(at('transmit'), to('receive')), wire(at('receive'), to('transmit'))]
  const supply = own === undefined ? [wire(at('supply'), to('positive'))] : []
  const wires = [wire(...ends), ...supply, ...line, ...controlWires(setup)]
  return wires.every(w => w.from > 0 && w.to > 0) ? wires : undefined
}

/** Those that both ends have a pin for; the rest is done by hand. */
const controlWires = ({ adapter, connector, line }: Setup): PinWire[] =>
  (['dtr', 'rts'] as const).flatMap(control => {
    const from = adapter.pins.findIndex(p => p.role === control) + 1
    const to = connector.pins.findIndex(p => p.role === line.controls?.[control]) + 1
    return from > 0 && to > 0 ? [{ from, to, through: 'wire' as const }] : []
  })

function sayWires(setup: Setup, wires: readonly PinWire[]): string {
  const { adapter, connector } = setup
  const through = (w: PinWire) => (w.through === 'wire' ? '' : ` through ${(w.ohms ?? 0) / 1000} kΩ`)
  return wires
    .map(w => `${adapter.pins[w.from - 1].name}${through(w)} to ${w.to} (${connector.pins[w.to - 1].name})`)
    .join(', ')
}

const choosing = (id: string, label: string, choose: Partial<WiringChoices>): Cure => ({ id, label, choose })

const otherCables = ({ bench, choices }: Setup): Cure[] =>
  bench.cables
    .filter(c => c.id !== choices.cableId)
    .slice(0, MOST_TRIED)
    .map(c => choosing('take-cable', `Take the cable “${c.nickname}” instead.`, { cableId: c.id }))

const otherAdapters = ({ bench, choices }: Setup): Cure[] =>
  bench.adapters
    .filter(a => a.id !== choices.adapterId)
    .slice(0, MOST_TRIED)
    .map(a => choosing('take-adapter', `Take the adapter “${a.nickname}” instead.`, { adapterId: a.id }))

function otherFeeds({ bench, choices }: Setup): Cure[] {
  const through =
    choices.feed === 'through-cable'
      ? []
      : [
          choosing('feed-through-cable', 'Unplug every other supply; let the adapter feed the receiver.', {
            feed: 'through-cable',
          }),
        ]
  const own = bench.supplies.slice(0, MOST_TRIED).map(supply =>
    choosing('give-supply', `Feed the receiver from “${supply.nickname}” and from nothing else.`, {
      feed: 'own-supply',
      supplyId: supply.id,
    }),
  )
  return [...through, ...own]
}

/** What is done to the cable by hand: the record of it follows. */
function rewire(setup: Setup): Cure[] {
  const wires = soundWires(setup)
  if (wires === undefined) return []
  const { id } = setup.cable
  return [
    {
      id: 'rewire-cable',
      label: `Re-pin this cable: ${sayWires(setup, wires)}. Ring every wire through before you use it.`,
      apply: bench => ({
        ...bench,
        cables: bench.cables.map(c => (c.id === id ? { ...c, wires: [], pinWires: wires } : c)),
      }),
    },
  ]
}

function setInversion({ adapter, line }: Setup): Cure[] {
  const { inverted } = line
  if (!isKnown(inverted) || !isKnown(adapter.inverts) || adapter.inverts === inverted) return []
  return [
    {
      id: 'set-inversion',
      label: `Set the adapter so that its lines are ${inverted ? '' : 'not '}inverted, if it can be set.`,
      apply: bench => ({
        ...bench,
        adapters: bench.adapters.map(a => (a.id === adapter.id ? { ...a, inverts: inverted } : a)),
      }),
    },
  ]
}

/** A cable together with another feed or another adapter, for where neither alone would do. */
const pairs = (one: readonly Cure[], other: readonly Cure[]): Cure[] =>
  one.flatMap(a =>
    other.map(b => ({
      id: `${a.id}-and-${b.id}`,
      label: `${a.label} ${b.label}`,
      choose: { ...a.choose, ...b.choose },
    })),
  )

function tryOut(request: WiringRequest, cure: Cure): Tried | undefined {
  const bench: Bench = cure.apply ? cure.apply(request.bench) : request.bench
  const result = setupOf({ ...request, ...cure.choose, bench })
  if (!result.ok || result.value === undefined) return undefined
  return { cure, findings: coreFindings(result.value) }
}

/** What stands in the way of a write, dangers too. */
const stops = (findings: readonly WiringFinding[]) =>
  findings.filter(f => f.severity === 'danger' || f.severity === 'block').length
const dangers = (findings: readonly WiringFinding[]) => findings.filter(f => f.severity === 'danger').length

/** @returns for each finding the change that would make it go away, where there is one */
export function curesFor(
  request: WiringRequest,
  setup: Setup,
  findings: readonly WiringFinding[],
): (finding: WiringFinding) => Cure | undefined {
  const attempt = (cures: readonly Cure[]) => cures.flatMap(cure => tryOut(request, cure) ?? [])
  const cables = otherCables(setup)
  const feeds = otherFeeds(setup)
  const adapters = otherAdapters(setup)
  let tried = attempt([...cables, ...feeds, ...adapters, ...setInversion(setup), ...rewire(setup)])
  if (!tried.some(t => isSafe(t.findings)))
    tried = [
      ...tried,
      ...attempt(pairs(adapters.slice(0, 8), cables)),
      ...attempt(pairs(cables, feeds.slice(0, 8))),
    ]
  const before = dangers(findings)
  const gone = (t: Tried, finding: WiringFinding) =>
    !t.findings.some(f => f.code === finding.code && f.severity === finding.severity) &&
    (dangers(t.findings) === 0 || dangers(t.findings) < before)
  return finding => {
    // That servos have to be unplugged is no reason to take other gear.
    if (finding.severity === 'ok' || finding.code === 'servos-on-adapter') return undefined
    const good = tried.filter(t => gone(t, finding))
    const safe = good.find(t => isSafe(t.findings))
    if (finding.severity === 'warn') return safe?.cure
    // One thing in the way in place of another is no cure.
    const less = (t: Tried) =>
      dangers(t.findings) === 0 && (finding.severity === 'danger' || stops(t.findings) < stops(findings))
    return (safe ?? good.find(less))?.cure
  }
}

/** A plug that goes in one way only, for a receiver that has a key. */
export function keyedPlug({ cable, connector }: Setup): Cure | undefined {
  if (connector.keyed !== true || cable.plugKeyed === true) return undefined
  return {
    id: 'keyed-plug',
    label: 'Fit a plug with a key to the receiver’s end of this cable.',
    apply: bench => ({
      ...bench,
      cables: bench.cables.map(c => (c.id === cable.id ? { ...c, plugKeyed: true } : c)),
    }),
  }
}
