import type { Reading, System } from '../../shared/diagnose/system.ts'
import { below, type Dice } from './dice.ts'

export interface RandomSystem {
  readonly system: System
  /** What is really wrong: one cause or two, of which one explains the symptom. */
  readonly hidden: readonly string[]
  /** About half of the facts, read of what is really wrong, now and then misread. */
  readonly readings: ReadonlyMap<string, Reading>
}

/** A system of causes and facts that mean nothing, with something wrong in it. */
export function randomSystem(d: Dice, size: { causes: number; facts: number }): RandomSystem {
  const ids = Array.from({ length: size.causes }, (_, i) => `c${i}`)
  const some = (share: number) => ids.filter(() => d.next() < share)
  const causes = ids.map(id => ({
    id,
    prior: d.between(0.005, 0.1),
    repairMinutes: Math.round(d.between(2, 40)),
  }))
  const facts = Array.from({ length: size.facts }, (_, i) => ({
    id: `f${i}`,
    shows: some(0.35),
    minutes: Math.round(d.between(1, 8)),
    hurts: d.next() < 0.1,
    misread: d.next() < 0.5 ? 0 : 0.05,
  }))
  const excluded = new Set(some(0.1))
  const shows = ids.filter(id => !excluded.has(id) && d.next() < 0.6)
  const system: System = { causes, facts, symptom: { shows, excludes: [...excluded] } }
  const first = shows.length > 0 ? [shows[below(d, shows.length)]] : []
  const others = ids.filter(id => !excluded.has(id) && !first.includes(id))
  const hidden = [...first, ...(d.next() < 0.5 && others.length > 0 ? [others[below(d, others.length)]] : [])]
  const readings = new Map<string, Reading>()
  for (const fact of facts) if (d.next() < 0.5) readings.set(fact.id, readingOf(fact, hidden, d))
  return { system, hidden, readings }
}

/** What somebody reads of a fact when these causes are present. */
export function readingOf(fact: System['facts'][number], present: readonly string[], d: Dice): Reading {
  const isUnsound = present.some(id => fact.shows.includes(id))
  return isUnsound !== d.next() < fact.misread ? 'unsound' : 'sound'
}
