import type { Readings, System } from '../../shared/diagnose/system.ts'

/**
 * Every set of causes tried, the slow and certain way: which agree with the symptom and with every reading at its word,
 * and do so no longer when any one member is left out?
 * @param system of at most 20 causes
 */
export function minimalByBruteForce({ causes, facts, symptom }: System, readings: Readings): string[][] {
  const maskOf = (ids: readonly string[]) =>
    causes.reduce((mask, { id }, i) => (ids.includes(id) ? mask | (1 << i) : mask), 0)
  const [shows, excludes] = [maskOf(symptom.shows), maskOf(symptom.excludes)]
  const read = facts.filter(({ id }) => readings.has(id))
  const masks = read.map(fact => ({ mask: maskOf(fact.shows), unsound: readings.get(fact.id) === 'unsound' }))
  const agrees = (set: number) =>
    (set & shows) !== 0 &&
    (set & excludes) === 0 &&
    masks.every(({ mask, unsound }) => ((set & mask) !== 0) === unsound)
  const minimal: string[][] = []
  for (let set = 1; set < 1 << causes.length; set++) {
    if (!agrees(set)) continue
    const members = causes.flatMap((_, i) => ((set >> i) & 1 ? [i] : []))
    if (members.every(i => !agrees(set & ~(1 << i)))) minimal.push(members.map(i => causes[i].id))
  }
  return minimal
}
