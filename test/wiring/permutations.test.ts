import { describe, expect, it } from 'vitest'
import type { Connector } from '../../shared/model/catalogue.ts'
import type { PinWire } from '../../shared/model/gear.ts'
import { check } from '../support/wiring-bench.ts'

/**
 * Every way to run the wires of a cable, against a small solver of its own: Kirchhoff's current law by conjugate
 * gradients, with what the adapter sends on at both of its levels. What it finds on a wrong pin must never be called
 * safe.
 */

type Role = Connector['pins'][number]['role']

/** Ground, supply, sends, hears: the demo's programmer. 5 V behind 0.4 Ω, 3.3 V behind 50 Ω. */
const SUPPLY = { volts: 5, ohms: 0.4 }
const OUTPUT_OHMS = 50

interface Node {
  volts: number
  fixed: boolean
  links: { to: Node; ohms: number }[]
}
const node = (fixed?: number): Node => ({ volts: fixed ?? 0, fixed: fixed !== undefined, links: [] })
function link(a: Node, b: Node, ohms: number): void {
  a.links.push({ to: b, ohms })
  b.links.push({ to: a, ohms })
}

/** What flows out of each node at these volts, fixed nodes at theirs or, for changes, at none. */
const outflow = (nodes: readonly Node[], volts: ReadonlyMap<Node, number>, fixedAt: 0 | 1): number[] =>
  nodes.map(n =>
    n.links.reduce((sum, { to, ohms }) => {
      const other = to.fixed ? fixedAt * to.volts : (volts.get(to) ?? 0)
      return sum + ((volts.get(n) ?? 0) - other) / ohms
    }, 0),
  )

const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, v, i) => sum + v * b[i], 0)

/** Conjugate gradients: as many steps as there are nodes, and some for rounding. */
function settle(all: readonly Node[]): void {
  const nodes = all.filter(n => !n.fixed)
  const named = (values: readonly number[]) => new Map(nodes.map((n, i) => [n, values[i]]))
  let x = nodes.map(() => 0)
  let rest = outflow(nodes, named(x), 1).map(v => -v)
  let step = rest
  for (let round = 0; round < 60 && dot(rest, rest) > 1e-18; round++) {
    const along = outflow(nodes, named(step), 0)
    const alpha = dot(rest, rest) / dot(step, along)
    x = x.map((v, i) => v + alpha * step[i])
    const next = rest.map((v, i) => v - alpha * along[i])
    const beta = dot(next, next) / dot(rest, rest)
    step = next.map((v, i) => v + beta * step[i])
    rest = next
  }
  for (const [i, n] of nodes.entries()) n.volts = x[i]
}

/** Volts of every pin of the receiver; undefined for one that no wire reaches. */
function pinVolts(wires: readonly PinWire[], pins: number, outputVolts: number): (number | undefined)[] {
  const [ground, supply, output] = [node(0), node(SUPPLY.volts), node(outputVolts)]
  const adapter = [ground, node(), node(), node()]
  link(adapter[1], supply, SUPPLY.ohms)
  link(adapter[2], output, OUTPUT_OHMS)
  const receiver = Array.from({ length: pins }, () => node())
  for (const w of wires) link(adapter[w.from - 1], receiver[w.to - 1], 0.04 + (w.ohms ?? 0))
  settle([...adapter, ...receiver])
  return receiver.map(n => (n.links.length === 0 ? undefined : n.volts))
}

const isLine = (role: Role) => role === 'signal' || role === 'receive' || role === 'transmit'

/** What must never be: positive below negative, or a line outside of what lies between the rails and 3.6 V. */
function harm(roles: readonly Role[], wires: readonly PinWire[]): string | undefined {
  for (const outputVolts of [0, 3.3]) {
    const volts = pinVolts(wires, roles.length, outputVolts)
    const at = (role: Role) => volts[roles.indexOf(role)]
    const [positive, negative] = [at('positive'), at('negative')]
    if (positive !== undefined && negative !== undefined && positive < negative - 0.3) return 'reversed'
    if (negative !== undefined && negative > 0.3) return 'negative is not ground'
    for (const [i, role] of roles.entries()) {
      const v = volts[i]
      if (!isLine(role) || v === undefined) continue
      if (v > 3.6) return 'the supply is on a line'
      if (negative !== undefined && v < negative - 0.3) return 'a line is below ground'
    }
  }
  return undefined
}

const part = (from: number, to: number, joined: boolean): PinWire =>
  from === 3 && joined ? { from, to, through: 'resistor', ohms: 1000 } : { from, to, through: 'wire' }

/** Each pin of the adapter on each pin of the receiver, or on none. */
function* allWirings(pins: number, joined: boolean): Generator<PinWire[]> {
  const choices = pins + 1
  for (let code = 0; code < choices ** 4; code++) {
    const to = [0, 1, 2, 3].map(i => Math.floor(code / choices ** i) % choices)
    yield to.flatMap((pin, i) => (pin === 0 ? [] : [part(i + 1, pin, joined)]))
  }
}

function permutations(items: readonly number[]): number[][] {
  if (items.length <= 1) return [[...items]]
  return items.flatMap((item, i) => permutations(items.toSpliced(i, 1)).map(rest => [item, ...rest]))
}

const plugs: [string, Role[], boolean][] = [
  ['three pins: signal, positive, negative', ['signal', 'positive', 'negative'], true],
  ['three pins in another order', ['negative', 'signal', 'positive'], true],
  ['four pins with two lines', ['negative', 'positive', 'receive', 'transmit'], false],
]

const checked = (roles: readonly Role[], pinWires: readonly PinWire[]) =>
  check({
    connector: { pins: roles.map(role => ({ name: role, role })) },
    cable: { pinWires: [...pinWires] },
  })

describe.each(plugs)('every cable for %s', (_, roles, joined) => {
  it('that harms by the solver is refused, and what is called safe carries the right thing to every pin', () => {
    let [harmful, safe] = [0, 0]
    for (const pinWires of allWirings(roles.length, joined)) {
      const found = harm(roles, pinWires)
      const result = checked(roles, pinWires)
      const named = `${JSON.stringify(pinWires.map(w => [w.from, roles[w.to - 1]]))}: ${found}`
      if (found !== undefined) {
        harmful++
        expect(result.safe, named).toBe(false)
      }
      if (!result.safe) continue
      safe++
      const to = (from: number) => pinWires.filter(w => w.from === from).map(w => roles[w.to - 1])
      expect([to(1), to(2)], named).toEqual([['negative'], ['positive']])
      expect(to(3), named).toEqual([joined ? 'signal' : 'receive'])
      expect(to(4), named).toEqual([joined ? 'signal' : 'transmit'])
    }
    expect(harmful).toBeGreaterThan(20)
    expect(safe).toBe(1)
  })

  it('that is a permutation of the sound one is dangerous wherever positive meets negative or a line', () => {
    const sound = joined ? [0, 1, 2] : [0, 1, 2, 3]
    for (const order of permutations(sound)) {
      // Ground, supply and what is sent (and heard) onto the pins in this order.
      const pinWires = order.flatMap((pin, i) =>
        joined && i === 2 ? [part(3, pin + 1, true), part(4, pin + 1, true)] : [part(i + 1, pin + 1, joined)],
      )
      const met = roles[order[1]]
      const result = checked(roles, pinWires)
      if (met === 'positive') continue
      expect(result.safe, `supply on ${met}`).toBe(false)
      expect(
        result.findings.some(f => f.severity === 'danger' && f.pin === order[1] + 1),
        `supply on ${met}`,
      ).toBe(true)
    }
  })

  it('gives each pin the volts that the solver gives it', () => {
    let compared = 0
    for (const pinWires of allWirings(roles.length, joined)) {
      if (++compared % 7 !== 0) continue
      const volts = pinVolts(pinWires, roles.length, 3.3)
      const states = checked(roles, pinWires).pins
      for (const [i, v] of volts.entries()) {
        // A pin on what the adapter hears with alone is held by the receiver itself, and the solver calls it 0.
        const heldFromOutside = pinWires.some(w => w.to === i + 1 && w.from !== 4)
        if (v === undefined || !heldFromOutside) continue
        expect(Math.abs((states[i].volts ?? Number.NaN) - v), JSON.stringify(pinWires)).toBeLessThan(0.02)
      }
    }
  })
})
