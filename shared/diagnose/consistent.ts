import { minimalHittingSets } from './hitting-sets.ts'
import type { Readings, System } from './system.ts'
import { readFacts } from './system.ts'

/**
 * All minimal sets of causes that explain the symptom when every reading is taken at its word: what would have made a
 * sound fact look unsound is ruled out, and of what makes an unsound one look so, one at least is there.
 * @param mostMembers larger sets are left out
 * @returns sets of cause ids in the order of the system; empty where the readings contradict each other
 */
export function minimalCauses(
  system: System,
  readings: Readings,
  mostMembers = Number.POSITIVE_INFINITY,
): string[][] {
  const facts = readFacts(system, readings)
  const ruledOut = new Set([
    ...system.symptom.excludes,
    ...facts.filter(fact => readings.get(fact.id) === 'sound').flatMap(fact => fact.shows),
  ])
  const indexOf = new Map(system.causes.map(({ id }, i) => [id, i]))
  const conflict = (shows: readonly string[]) =>
    shows.filter(id => !ruledOut.has(id)).flatMap(id => indexOf.get(id) ?? [])
  const conflicts = [
    conflict(system.symptom.shows),
    ...facts.filter(fact => readings.get(fact.id) === 'unsound').map(fact => conflict(fact.shows)),
  ]
  return minimalHittingSets(conflicts, mostMembers).map(set => set.map(i => system.causes[i].id))
}
