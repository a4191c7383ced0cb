import { describe, expect, it } from 'vitest'
import { minimalCauses } from '../../shared/diagnose/consistent.ts'
import { suspicions } from '../../shared/diagnose/likelihood.ts'
import { advise } from '../../shared/diagnose/next-check.ts'
import type { Reading, System } from '../../shared/diagnose/system.ts'

/**
 * de Kleer and Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987): three multipliers and two
 * adders. X = A·C, Y = B·D, Z = C·E; F = X + Y, G = Y + Z; the inputs are 3, 2, 2, 3, 3, and F = 10 and G = 12 are
 * read where 12 and 12 were to be. Circuit, readings, conflicts and diagnoses are quoted from memory; below they are
 * worked out again from the arithmetic alone.
 */
const PARTS = ['M1', 'M2', 'M3', 'A1', 'A2'] as const
type Part = (typeof PARTS)[number]
type Values = Readonly<Record<'X' | 'Y' | 'Z' | 'F' | 'G', number>>
const [A, B, C, D, E] = [3, 2, 2, 3, 3]

/** Does each part that is thought to be in order do what it should? */
const obeys: Readonly<Record<Part, (v: Values) => boolean>> = {
  M1: v => v.X === A * C,
  M2: v => v.Y === B * D,
  M3: v => v.Z === C * E,
  A1: v => v.F === v.X + v.Y,
  A2: v => v.G === v.Y + v.Z,
}

/** Wide enough for every value that a part in order can ask of another. */
const RANGE = Array.from({ length: 41 }, (_, i) => i - 10)

/** Can these parts all be in order with what was measured? What others put out may be anything. */
function isPossible(inOrder: readonly Part[], measured: Partial<Values>): boolean {
  const at = (name: 'X' | 'Y' | 'Z') => (measured[name] === undefined ? RANGE : [measured[name]])
  const [F, G] = [measured.F ?? 12, measured.G ?? 12]
  return at('X').some(X =>
    at('Y').some(Y => at('Z').some(Z => inOrder.every(part => obeys[part]({ X, Y, Z, F, G })))),
  )
}

const subsets: readonly Part[][] = Array.from({ length: 1 << PARTS.length }, (_, mask) =>
  PARTS.filter((_part, i) => mask & (1 << i)),
)
const smallest = (sets: readonly Part[][]): Part[][] =>
  sets.filter(set => !sets.some(other => other !== set && other.every(part => set.includes(part))))
const without = (set: readonly Part[]) => PARTS.filter(part => !set.includes(part))
const sorted = (sets: readonly (readonly string[])[]): string[] =>
  sets.map(set => [...set].sort().join(' ')).sort()

const conflictsOf = (measured: Partial<Values>) => smallest(subsets.filter(set => !isPossible(set, measured)))
const diagnosesOf = (measured: Partial<Values>) =>
  smallest(subsets.filter(set => isPossible(without(set), measured)))

/** The conflicts as a system: the first is the symptom, each other one a fact that looks unsound. */
function minimalOf(conflicts: readonly (readonly Part[])[]): string[][] {
  const [symptom, ...others] = conflicts
  const system: System = {
    causes: PARTS.map(id => ({ id, prior: 0.01, repairMinutes: 10 })),
    facts: others.map((shows, i) => ({ id: `conflict-${i}`, shows, minutes: 1, hurts: false, misread: 0 })),
    symptom: { shows: symptom, excludes: [] },
  }
  return minimalCauses(system, new Map(system.facts.map(f => [f.id, 'unsound' as Reading])))
}

describe('three multipliers and two adders: de Kleer and Williams (1987), from memory', () => {
  const readings = { F: 10, G: 12 }

  it('has the conflicts that the paper has: {A1, M1, M2} and {A1, A2, M1, M3}', () => {
    expect(sorted(conflictsOf(readings))).toEqual(['A1 A2 M1 M3', 'A1 M1 M2'])
  })

  it('has the minimal diagnoses that the paper has: {A1}, {M1}, {A2, M2}, {M2, M3}', () => {
    const published = ['A1', 'A2 M2', 'M1', 'M2 M3']
    expect(
      sorted(
        minimalOf([
          ['A1', 'M1', 'M2'],
          ['A1', 'A2', 'M1', 'M3'],
        ]),
      ),
    ).toEqual(published)
    expect(sorted(diagnosesOf(readings))).toEqual(published)
  })

  it.each([4, 6, 7])('agrees with the arithmetic when X is measured too, at %d', X => {
    const measured = { ...readings, X }
    expect(sorted(minimalOf(conflictsOf(measured)))).toEqual(sorted(diagnosesOf(measured)))
    // The paper: at 4 it is M1, alone or with what makes up for it; at 6 it is not M1.
    const singles = diagnosesOf(measured).filter(set => set.length === 1)
    expect(singles).toEqual(X === 4 ? [['M1']] : X === 6 ? [['A1']] : [])
  })

  it('agrees with the arithmetic for every pair of outputs around the right ones', () => {
    for (const F of [10, 11, 12, 13])
      for (const G of [10, 11, 12, 14]) {
        const conflicts = conflictsOf({ F, G })
        if (conflicts.length > 0) expect(sorted(minimalOf(conflicts))).toEqual(sorted(diagnosesOf({ F, G })))
      }
  })
})

interface Repair {
  readonly id: string
  readonly p: number
  readonly minutes: number
}

/** One fault among these, as likely to each other as their numbers say. */
function oneFault(repairs: readonly Repair[]) {
  const system: System = {
    // Prior odds in these proportions, as only one is present.
    causes: repairs.map(({ id, p, minutes }) => ({ id, prior: p / (1 + p), repairMinutes: minutes })),
    facts: [],
    symptom: { shows: repairs.map(r => r.id), excludes: [] },
  }
  return { system, known: suspicions(system, new Map(), 1) }
}

const NO_TEST = { tryMinutes: 0, giveUpMinutes: 0 }

describe('the order of repairs: Heckerman, Breese and Rommelse (1995); Kadane and Simon (1977)', () => {
  // Expected cost of repair, C1 + (1 - p1) C2 + (1 - p1 - p2) C3 …, least in the order of p over C. The formula is quoted
  // from memory, the numbers are our own, and the sum is done by hand.
  const repairs = [
    { id: 'plug', p: 0.2, minutes: 4 },
    { id: 'pack', p: 0.5, minutes: 20 },
    { id: 'card', p: 0.3, minutes: 5 },
  ]

  it('is card (0.06), plug (0.05), pack (0.025), at 5 + 0.7 · 4 + 0.5 · 20 = 17.8 minutes', () => {
    const { system, known } = oneFault(repairs)
    const advice = advise(system, new Map(), NO_TEST, known)
    expect(advice.next).toEqual({ do: 'repair', causes: ['card'] })
    expect(advice.repairMinutes).toBeCloseTo(17.8, 9)
  })

  it('pays for a test where the two repairs together cost more: 2 + 3 + 0.47 · (3 + 3) = 7.82 against 8', () => {
    // Ottosen and Jensen, When To Test? Troubleshooting with Postponed System Test, Aalborg University 10-001 (2010):
    // several repairs may share one test. Here they should not; the numbers are our own.
    const causes = [
      { id: 'sensor', prior: 0.55 / 1.55, repairMinutes: 2 },
      { id: 'wire', prior: 0.45 / 1.45, repairMinutes: 3 },
    ]
    const system: System = { causes, facts: [], symptom: { shows: ['sensor', 'wire'], excludes: [] } }
    const known = [
      { members: ['sensor'], likelihood: 0.53, doubts: [] },
      { members: ['wire'], likelihood: 0.43, doubts: [] },
      { members: ['sensor', 'wire'], likelihood: 0.04, doubts: [] },
    ]
    const advice = advise(system, new Map(), { tryMinutes: 3, giveUpMinutes: 240 }, known)
    expect(advice.next).toEqual({ do: 'repair', causes: ['sensor'] })
    // Both may be there: then the second test is the one that shows it gone.
    expect(advice.repairMinutes).toBeCloseTo(5 + 0.47 * 6, 6)
  })

  it('shares one test where that is cheaper: 2 + 3 + 30 against 32 + 0.47 · 33', () => {
    const { system } = oneFault([
      { id: 'sensor', p: 0.55, minutes: 2 },
      { id: 'wire', p: 0.45, minutes: 3 },
    ])
    const known = [
      { members: ['sensor'], likelihood: 0.53, doubts: [] },
      { members: ['wire'], likelihood: 0.43, doubts: [] },
      { members: ['sensor', 'wire'], likelihood: 0.04, doubts: [] },
    ]
    const advice = advise(system, new Map(), { tryMinutes: 30, giveUpMinutes: 240 }, known)
    expect(advice.next).toEqual({ do: 'repair', causes: ['sensor', 'wire'] })
    expect(advice.repairMinutes).toBeCloseTo(35, 6)
  })
})
