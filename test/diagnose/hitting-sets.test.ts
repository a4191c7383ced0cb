import { spawnSync } from 'node:child_process'
import { describe, expect, it } from 'vitest'
import { minimalHittingSets } from '../../shared/diagnose/hitting-sets.ts'
import { below, type Dice, dice } from '../support/dice.ts'
import { lacks, tool } from '../support/tools.ts'

/** Every choice among the members tried, the slow and certain way. */
function byBruteForce(conflicts: readonly (readonly number[])[], members: number): number[][] {
  const masks = conflicts.map(c => c.reduce((mask, m) => mask | (1 << m), 0))
  const hits = (set: number) => masks.every(mask => (mask & set) !== 0)
  const sets: number[] = []
  for (let set = 0; set < 1 << members; set++) {
    if (!hits(set)) continue
    const isMinimal = Array.from({ length: members }, (_, m) => m).every(
      m => (set & (1 << m)) === 0 || !hits(set & ~(1 << m)),
    )
    if (isMinimal) sets.push(set)
  }
  const listed = sets.map(set => Array.from({ length: members }, (_, m) => m).filter(m => set & (1 << m)))
  return listed.sort(order)
}

function order(a: readonly number[], b: readonly number[]): number {
  const at = a.findIndex((m, i) => m !== b[i])
  return a.length - b.length || (at < 0 ? 0 : a[at] - b[at])
}

function randomConflicts(d: Dice, members: number): number[][] {
  return Array.from({ length: below(d, 9) }, () => {
    const size = 1 + below(d, Math.min(6, members))
    return [...new Set(Array.from({ length: size }, () => below(d, members)))]
  })
}

describe('minimal hitting sets', () => {
  it('are those of the full adder: Reiter, Artificial Intelligence 32 (1987), examples 2.2 and 4.1', () => {
    // Conflicts {X1, X2} and {X1, A2, O1}; diagnoses {X1}, {X2, A2}, {X2, O1}. The example is quoted from memory.
    const [x1, x2, , a2, o1] = [0, 1, 2, 3, 4]
    expect(
      minimalHittingSets([
        [x1, x2],
        [x1, a2, o1],
      ]),
    ).toEqual([[x1], [x2, a2], [x2, o1]])
  })

  it('are those of the tree in Reiter (1987), figure 4; the sets from memory, worked again by hand', () => {
    const conflicts = [
      [2, 4, 5],
      [1, 2, 3],
      [1, 3, 5],
      [2, 4, 6],
      [2, 4],
      [2, 3, 5],
      [1, 6],
    ]
    expect(minimalHittingSets(conflicts)).toEqual([
      [1, 2],
      [1, 3, 4],
      [1, 4, 5],
      [2, 3, 6],
      [2, 5, 6],
      [3, 4, 6],
    ])
  })

  it('has one way to hit nothing, and none to hit the empty set', () => {
    expect(minimalHittingSets([])).toEqual([[]])
    expect(minimalHittingSets([[1, 2], []])).toEqual([])
  })

  it('leaves out what is larger than asked for, and nothing else', () => {
    const conflicts = [[0], [1, 2], [3, 4]]
    expect(minimalHittingSets(conflicts, 2)).toEqual([])
    expect(minimalHittingSets([...conflicts.slice(0, 2)], 2)).toEqual([
      [0, 1],
      [0, 2],
    ])
  })

  it('equals brute force on 600 random systems with up to 16 members, whole and bounded', () => {
    const d = dice(4, 'sets')
    for (let i = 0; i < 600; i++) {
      const members = 1 + below(d, i < 560 ? 10 : 16)
      const conflicts = randomConflicts(d, members)
      const all = byBruteForce(conflicts, members)
      expect(minimalHittingSets(conflicts)).toEqual(all)
      expect(minimalHittingSets(conflicts, 2)).toEqual(all.filter(set => set.length <= 2))
    }
  })
})

describe.skipIf(lacks('clingo'))(
  'minimal hitting sets, beside the answer-set solver of Debian’s gringo',
  () => {
    it('are the same on 40 random systems', () => {
      const d = dice(7, 'sets')
      for (let i = 0; i < 40; i++) {
        const members = 2 + below(d, 14)
        const conflicts = randomConflicts(d, members).filter(c => c.length > 0)
        expect(minimalHittingSets(conflicts)).toEqual(bySolver(conflicts, members))
      }
    })
  },
)

/** Subset-minimal models by the solver's domain heuristic: prefer every atom to be false, and record by domain. */
function bySolver(conflicts: readonly (readonly number[])[], members: number): number[][] {
  const program = [
    `member(0..${members - 1}).`,
    '{ chosen(M) } :- member(M).',
    ...conflicts.map((_, c) => `conflict(${c}).`),
    ...conflicts.flatMap((set, c) => set.map(m => `in(${m},${c}).`)),
    'hit(C) :- in(M,C), chosen(M).',
    ':- conflict(C), not hit(C).',
    '#heuristic chosen(M) : member(M). [1,false]',
    '#show chosen/1.',
  ].join('\n')
  const args = ['--heuristic=Domain', '--enum-mode=domRec', '--outf=2', '0']
  const { stdout } = spawnSync(tool('clingo') ?? '', args, { input: program, encoding: 'utf8' })
  const answer = JSON.parse(stdout) as { Call: { Witnesses?: { Value: string[] }[] }[] }
  return (answer.Call[0].Witnesses ?? [])
    .map(({ Value }) => Value.map(atom => Number(/\d+/.exec(atom))).sort((a, b) => a - b))
    .sort(order)
}
