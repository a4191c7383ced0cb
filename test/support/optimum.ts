import { suspicions } from '../../shared/diagnose/likelihood.ts'
import { type AdviceOptions, advise, usualCosts } from '../../shared/diagnose/next-check.ts'
import type { Reading, System } from '../../shared/diagnose/system.ts'

/**
 * The exact optimum of troubleshooting on small systems, by dynamic programming over everything that can come about:
 * which sets of causes are still possible, what has been looked at, what has been put right. Looks do not lie here. The
 * advice of the engine (Heckerman, Breese and Rommelse 1995, one look ahead) is carried out in the same worlds, so that
 * both can be set side by side.
 */
export interface Outlay {
  /** Expected minutes until the symptom is gone. */
  readonly minutes: number
  readonly looks: number
  readonly repairs: number
}

interface World {
  readonly members: readonly string[]
  readonly weight: number
}

const NOTHING: Outlay = { minutes: 0, looks: 0, repairs: 0 }
const plus = (a: Outlay, b: Outlay): Outlay => ({
  minutes: a.minutes + b.minutes,
  looks: a.looks + b.looks,
  repairs: a.repairs + b.repairs,
})
const weightOf = (worlds: readonly World[]) => worlds.reduce((sum, { weight }) => sum + weight, 0)

/** What can be wrong before anything is known. */
const worldsOf = (system: System): World[] =>
  suspicions(system, new Map()).map(({ members, likelihood }) => ({ members, weight: likelihood }))

/** What a look shows in one of the worlds when these causes have been put right. */
function shown(system: System, factId: string, { members }: World, repaired: ReadonlySet<string>): Reading {
  const fact = system.facts.find(({ id }) => id === factId)
  return members.some(id => !repaired.has(id) && fact?.shows.includes(id)) ? 'unsound' : 'sound'
}

function stillThere(system: System, worlds: readonly World[], repaired: ReadonlySet<string>): World[] {
  return worlds.filter(({ members }) =>
    members.some(id => !repaired.has(id) && system.symptom.shows.includes(id)),
  )
}

/** @param system at most some six causes and six facts; what misreading it states is left out of account */
export function optimum(system: System, options: AdviceOptions = usualCosts): Outlay {
  const known = new Map<string, Outlay>()
  const all = worldsOf(system)
  const minutesOf = new Map(system.causes.map(({ id, repairMinutes }) => [id, repairMinutes]))

  const best = (
    worlds: readonly World[],
    looked: ReadonlySet<string>,
    repaired: ReadonlySet<string>,
  ): Outlay => {
    if (worlds.length === 0) return NOTHING
    const key = `${worlds.map(w => all.indexOf(w))};${[...looked].sort()};${[...repaired].sort()}`
    const before = known.get(key)
    if (before) return before
    const weight = weightOf(worlds)
    let cheapest: Outlay = { minutes: weight * options.giveUpMinutes, looks: 0, repairs: 0 }
    const offer = (outlay: Outlay) => {
      if (outlay.minutes < cheapest.minutes - 1e-12) cheapest = outlay
    }
    for (const fact of system.facts) {
      if (looked.has(fact.id)) continue
      const parts = (['sound', 'unsound'] as const).map(reading =>
        worlds.filter(world => shown(system, fact.id, world, repaired) === reading),
      )
      if (parts.some(part => part.length === 0)) continue
      const then = new Set([...looked, fact.id])
      const outlay = { minutes: weight * fact.minutes, looks: weight, repairs: 0 }
      offer(parts.reduce((sum, part) => plus(sum, best(part, then, repaired)), outlay))
    }
    for (const causes of choices(candidates(system, worlds, repaired))) {
      const minutes = causes.reduce((sum, id) => sum + (minutesOf.get(id) ?? 0), options.tryMinutes)
      const then = new Set([...repaired, ...causes])
      const outlay = { minutes: weight * minutes, looks: 0, repairs: weight }
      offer(plus(outlay, best(stillThere(system, worlds, then), looked, then)))
    }
    known.set(key, cheapest)
    return cheapest
  }
  return best(all, new Set(), new Set())
}

/** Causes that bring the symptom about in one of these worlds and have not been put right. */
const candidates = (system: System, worlds: readonly World[], repaired: ReadonlySet<string>): string[] =>
  system.symptom.shows.filter(id => !repaired.has(id) && worlds.some(({ members }) => members.includes(id)))

function choices(ids: readonly string[]): string[][] {
  return Array.from({ length: (1 << ids.length) - 1 }, (_, i) => ids.filter((_, b) => ((i + 1) >> b) & 1))
}

/** What following the engine's advice comes to, in the same worlds. */
export function byAdvice(system: System, options: AdviceOptions = usualCosts): Outlay {
  const follow = (
    worlds: readonly World[],
    readings: ReadonlyMap<string, Reading>,
    repaired: ReadonlySet<string>,
  ): Outlay => {
    if (worlds.length === 0) return NOTHING
    const weight = weightOf(worlds)
    const { next } = advise({ ...system, repaired: [...repaired] }, readings, options)
    if (next.do === 'ask') return { minutes: weight * options.giveUpMinutes, looks: 0, repairs: 0 }
    if (next.do === 'look') {
      const minutes = system.facts.find(({ id }) => id === next.fact)?.minutes ?? 0
      const outlay = { minutes: weight * minutes, looks: weight, repairs: 0 }
      return (['sound', 'unsound'] as const).reduce((sum, reading) => {
        const part = worlds.filter(world => shown(system, next.fact, world, repaired) === reading)
        return plus(sum, follow(part, new Map([...readings, [next.fact, reading]]), repaired))
      }, outlay)
    }
    const minutesOf = new Map(system.causes.map(({ id, repairMinutes }) => [id, repairMinutes]))
    const minutes = next.causes.reduce((sum, id) => sum + (minutesOf.get(id) ?? 0), options.tryMinutes)
    const then = new Set([...repaired, ...next.causes])
    const outlay = { minutes: weight * minutes, looks: 0, repairs: weight }
    return plus(outlay, follow(stillThere(system, worlds, then), readings, then))
  }
  return follow(worldsOf(system), new Map(), new Set())
}
