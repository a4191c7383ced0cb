import { demoBench } from '../../shared/demo/bench.ts'
import { minimalCauses } from '../../shared/diagnose/consistent.ts'
import { suspicions } from '../../shared/diagnose/likelihood.ts'
import { modelSymptom, modelTable, systemOf } from '../../shared/diagnose/model.ts'
import { advise, usualCosts } from '../../shared/diagnose/next-check.ts'
import { SYMPTOMS } from '../../shared/diagnose/report.ts'
import type { System } from '../../shared/diagnose/system.ts'
import { worthTelling } from '../../shared/diagnose/telling.ts'
import { minimalByBruteForce } from '../support/brute-causes.ts'
import { dice } from '../support/dice.ts'
import { byAdvice, type Outlay, optimum } from '../support/optimum.ts'
import { randomSystem, readingOf } from '../support/random-system.ts'
import type { Measured } from './table.ts'

/** What surrounds the reasoning: how fast it answers, how far its advice is from the best, whether its sets are right. */
export const benchDiagnosis = (): Measured[] => [...answerTime(), ...againstOptimum(), againstBruteForce()]

const RUNS = 15

/** The slowest of several stages of a large diagnosis, from nothing read to everything read. */
function answerTime(): Measured[] {
  const d = dice(1, 'speed')
  const { system, hidden } = randomSystem(d, { causes: 45, facts: 30 })
  const whole: System = { ...system, symptom: { shows: system.causes.map(c => c.id), excludes: [] } }
  const medians = [0, 10, 20, 30].map(count => {
    const readings = new Map(whole.facts.slice(0, count).map(f => [f.id, readingOf(f, hidden, d)]))
    const times = Array.from({ length: RUNS }, () => {
      const started = performance.now()
      const all = suspicions(whole, readings)
      worthTelling(all)
      advise(whole, readings, { ...usualCosts, again: new Set(readings.keys()) }, all)
      return performance.now() - started
    })
    return times.sort((a, b) => a - b)[Math.floor(RUNS / 2)]
  })
  const slowest = Math.max(...medians)
  return [
    {
      what: `diagnosis with 45 causes and 30 facts, slowest of 4 stages, median of ${RUNS}`,
      value: `${slowest.toFixed(1)} ms`,
      goal: 'under 50 ms',
      reached: slowest < 50,
    },
    {
      what: 'the same, with 0, 10, 20 and 30 facts read',
      value: `${medians.map(ms => ms.toFixed(0)).join(', ')} ms`,
      goal: '',
      reached: true,
    },
  ]
}

const RANDOM_SYSTEMS = 300
const MOST_SMALL = 6

/** Looks do not lie here and hurt nobody: the optimum knows neither. */
const plain = (system: System): System => ({
  ...system,
  facts: system.facts.map(fact => ({ ...fact, hurts: false, misread: 0 })),
})

function randomSmall(): System[] {
  const d = dice(9, 'optimum')
  const all = Array.from({ length: RANDOM_SYSTEMS }, (_, i) =>
    plain(randomSystem(d, { causes: 3 + (i % 4), facts: 3 + (Math.floor(i / 4) % 4) }).system),
  )
  return all.filter(({ symptom }) => symptom.shows.length > 0)
}

/** The symptoms of the demo, cut down to their likeliest causes and the facts that tell those apart. */
function demoSmall(): System[] {
  const bench = demoBench()
  return (['cable', 'wireless'] as const).flatMap(route => {
    const table = modelTable(bench, 'wren-trainer', route)
    if (table === undefined) return []
    return SYMPTOMS.flatMap(symptom => {
      const system = systemOf(modelSymptom(table, symptom), {})
      const causes = system.causes
        .filter(({ id }) => system.symptom.shows.includes(id))
        .sort((a, b) => b.prior - a.prior)
        .slice(0, MOST_SMALL)
      const ids = causes.map(({ id }) => id)
      const within = (shows: readonly string[]) => shows.filter(id => ids.includes(id))
      const facts = system.facts
        .map(fact => ({ ...fact, shows: within(fact.shows) }))
        .filter(({ shows }) => shows.length > 0 && shows.length < ids.length)
        .slice(0, MOST_SMALL)
      return ids.length < 2 ? [] : [plain({ causes, facts, symptom: { shows: ids, excludes: [] } })]
    })
  })
}

function againstOptimum(): Measured[] {
  return [
    ...compared(`random systems of up to ${MOST_SMALL} causes and facts`, randomSmall()),
    ...compared('symptoms of the demo, cut to that size', demoSmall()),
  ]
}

function compared(what: string, systems: readonly System[]): Measured[] {
  const pairs = systems.map(system => ({ best: optimum(system), advised: byAdvice(system) }))
  const total = (which: 'best' | 'advised', of: (o: Outlay) => number) =>
    pairs.reduce((sum, pair) => sum + of(pair[which]), 0)
  const ratio = (of: (o: Outlay) => number) => total('advised', of) / total('best', of)
  const costs = pairs.map(({ best, advised }) => advised.minutes / best.minutes)
  const mean = costs.reduce((sum, cost) => sum + cost, 0) / costs.length
  const [looks, checks] = [ratio(o => o.looks), ratio(o => o.looks + o.repairs)]
  const row = (name: string, value: number): Measured => ({
    what: `${systems.length} ${what}: ${name}`,
    value: `${value.toFixed(3)} times the optimum`,
    goal: 'at most 1.25',
    reached: value <= 1.25,
  })
  return [
    row('looks', looks),
    row('looks and repairs together', checks),
    row('expected minutes, mean', mean),
    { ...row('expected minutes, worst', Math.max(...costs)), goal: '' },
  ]
}

const BRUTE_SYSTEMS = 10_000

function againstBruteForce(): Measured {
  const d = dice(16, 'brute force')
  let same = 0
  for (let i = 0; i < BRUTE_SYSTEMS; i++) {
    const { system, readings } = randomSystem(d, { causes: 1 + (i % 16), facts: 8 })
    const normal = (sets: readonly (readonly string[])[]) =>
      sets
        .map(set => set.join())
        .sort()
        .join(';')
    if (normal(minimalCauses(system, readings)) === normal(minimalByBruteForce(system, readings))) same++
  }
  return {
    what: `minimal cause sets as by brute force, random systems of up to 16 causes`,
    value: `${same} of ${BRUTE_SYSTEMS}`,
    goal: 'all',
    reached: same === BRUTE_SYSTEMS,
  }
}
