import type { Readings, System } from '../../shared/diagnose/system.ts'

export interface PlainSet {
  readonly members: readonly string[]
  readonly likelihood: number
  readonly doubts: readonly string[]
}

/**
 * Every set of at most three causes with Bayes' rule written out, one probability after the other: no logarithms, no
 * bits, nothing left out. What the quick way has to agree with.
 */
export function plainSets(system: System, readings: Readings): PlainSet[] {
  const open = system.causes.filter(({ id }) => !system.symptom.excludes.includes(id))
  const bring = system.symptom.shows.filter(id => !system.repaired?.includes(id))
  const sets = subsets(
    open.map(({ id }) => id),
    3,
  ).filter(ids => ids.some(id => bring.includes(id)))
  const weighed = sets.map(members => {
    const isWrong = ({ id, shows }: System['facts'][number]) =>
      (readings.get(id) === 'unsound') !== members.some(m => shows.includes(m))
    const read = system.facts.filter(({ id }) => readings.has(id))
    const prior = open.reduce((p, c) => p * (members.includes(c.id) ? c.prior : 1 - c.prior), 1)
    const weight = read.reduce((p, fact) => {
      const misread = Math.max(1e-4, fact.misread)
      return p * (isWrong(fact) ? misread : 1 - misread)
    }, prior)
    return { members, weight, doubts: read.filter(isWrong).map(({ id }) => id) }
  })
  const total = weighed.reduce((sum, { weight }) => sum + weight, 0)
  return weighed
    .map(({ members, weight, doubts }) => ({ members, likelihood: weight / total, doubts }))
    .sort((a, b) => b.likelihood - a.likelihood)
}

function subsets(ids: readonly string[], most: number): string[][] {
  let all: string[][] = [[]]
  for (const id of ids) all = [...all, ...all.filter(s => s.length < most).map(s => [...s, id])]
  return all.filter(s => s.length > 0)
}
