import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { CAUSES } from '../../shared/diagnose/causes.ts'
import { diagnose } from '../../shared/diagnose/diagnose.ts'
import { findFact } from '../../shared/diagnose/facts.ts'
import { looksUnsound, modelTable, type TableModel } from '../../shared/diagnose/model.ts'
import {
  type DiagnosisRequest,
  diagnosisRequestSchema,
  type SecondTry,
  secondTrySchema,
} from '../../shared/diagnose/report.ts'
import { sharesOf } from '../../shared/diagnose/second-tries.ts'
import type { Seen } from '../../shared/diagnose/watch.ts'

const bench = demoBench()
const table = modelTable(bench, 'wren-trainer', 'cable') as TableModel
const one = (change: Partial<SecondTry> = {}): SecondTry => ({
  ...{ symptom: 'write-refused', route: 'cable', answers: { 'receiver-named': 'yes' } },
  ...change,
})
const sum = (by: Readonly<Record<string, number>>) => Object.values(by).reduce((a, b) => a + b, 0)

describe('a second attempt that worked by itself', () => {
  it('speaks for what heals by itself when it is rehearsed, and for nothing else', () => {
    const spec = findFact('second-try')
    if (spec === undefined) throw new Error('there is no such fact')
    const heals = table.causes
      .filter(
        c => c.forms.some(f => f.symptom === 'write-refused') && !looksUnsound(spec, c, 'write-refused'),
      )
      .map(c => c.cause.id)
    expect(heals).toContain('slow-settle')
    expect(Object.keys(sharesOf(table, [one()], {}).byCause).sort()).toEqual(heals.sort())
  })

  it('weighs half a find, whatever it may have been', () => {
    for (const tries of [1, 2, 7]) {
      const { byCause, casesByCause } = sharesOf(table, Array(tries).fill(one()), {})
      expect(sum(byCause)).toBeCloseTo(tries / 2, 9)
      expect(casesByCause['slow-settle']).toBe(tries)
    }
  })

  it('is taken for any way in which a write fails, but not for what comes before', () => {
    for (const symptom of ['stops', 'verify-fails'] as const)
      expect(sharesOf(table, [one({ symptom })], {})).toEqual(sharesOf(table, [one()], {}))
    expect(sharesOf(table, [one({ symptom: 'card-not-seen' })], {}).byCause).toEqual({})
  })

  it('of another route says nothing here', () => {
    expect(sharesOf(table, [one({ route: 'wireless' })], {})).toEqual({ byCause: {}, casesByCause: {} })
  })

  describe('where several causes heal by themselves', () => {
    /** A table on which two causes look the same, but for one fact that the second shows in. */
    const seen = (unsound: readonly string[]): Seen => ({
      symptom: 'write-refused',
      unsound: new Set(unsound) as Seen['unsound'],
      broken: new Map(),
    })
    const cause = (id: string) => {
      const found = CAUSES.find(c => c.id === id)
      if (found === undefined) throw new Error(`no cause ${id}`)
      return found
    }
    const two: TableModel = {
      route: 'cable',
      causes: [
        { cause: cause('slow-settle'), forms: [seen([])] },
        { cause: cause('chatty-sensor'), forms: [seen(['line-quiet'])] },
        { cause: cause('line-noise'), forms: [seen(['second-try'])] },
      ],
    }
    const shares = (answers: SecondTry['answers'], counts = {}) =>
      sharesOf(two, [one({ answers })], counts).byCause

    it('is shared out by their rates', () => {
      const [a, b] = [cause('slow-settle').perThousand, cause('chatty-sensor').perThousand]
      const found = shares({})
      expect(found['slow-settle']).toBeCloseTo((0.5 * a) / (a + b), 9)
      expect(found['chatty-sensor']).toBeCloseTo((0.5 * b) / (a + b), 9)
      expect(found).not.toHaveProperty('line-noise')
    })

    it('is shared out by what was seen, as far as that can be trusted', () => {
      const misread = findFact('line-quiet')?.misread ?? 0
      const [a, b] = [cause('slow-settle').perThousand, cause('chatty-sensor').perThousand]
      const quiet = shares({ 'line-quiet': 'yes' })
      expect(quiet['slow-settle']).toBeCloseTo(
        (0.5 * a * (1 - misread)) / (a * (1 - misread) + b * misread),
        9,
      )
      const loud = shares({ 'line-quiet': 'no' })
      expect(loud['chatty-sensor']).toBeGreaterThan(0.45)
    })

    it('follows what was found, and never itself', () => {
      const found = shares({}, { 'chatty-sensor': 50 })
      expect(found['chatty-sensor']).toBeGreaterThan(0.3)
      const many = sharesOf(two, Array(40).fill(one({ answers: {} })), {}).byCause
      expect(many['slow-settle'] / 40).toBeCloseTo(shares({})['slow-settle'], 9)
    })
  })
})

describe('the odds of a diagnosis', () => {
  const ask = (symptom: DiagnosisRequest['symptom'], secondTries: readonly SecondTry[]) => {
    const request = diagnosisRequestSchema.parse({
      ...{ bench, receiverId: 'wren-trainer', symptom, route: 'cable' },
      ...{ answers: { 'receiver-named': 'yes' }, secondTries },
    })
    const done = diagnose(request, { table })
    if (!done.ok) throw new Error(done.problems[0].message)
    return done.value
  }
  const likelihood = (d: ReturnType<typeof ask>, id: string) =>
    d.causes.find(c => c.members.length === 1 && c.members[0].id === id)?.likelihood ?? 0

  it('shift towards what may have been it, and say why', () => {
    const [before, after] = [ask('write-refused', []), ask('write-refused', Array(8).fill(one()))]
    expect(before.secondTries).toBe(0)
    expect(after).toMatchObject({ counted: 0, secondTries: 8 })
    expect(likelihood(after, 'slow-settle')).toBeGreaterThan(likelihood(before, 'slow-settle') + 0.03)
    const rate = after.causes.flatMap(c => c.members).find(m => m.id === 'slow-settle')?.rate
    expect(rate).toMatch(/second attempts that went through by themselves speak for it as 4\.0 finds would/)
  })

  it('hardly move where that cannot be the reason', () => {
    const [before, after] = [ask('card-not-seen', []), ask('card-not-seen', Array(8).fill(one()))]
    expect(after.causes.map(c => c.members.map(m => m.id))).toEqual(
      before.causes.map(c => c.members.map(m => m.id)),
    )
    for (const [i, { likelihood }] of after.causes.entries())
      expect(likelihood).toBeCloseTo(before.causes[i].likelihood, 2)
  })

  it('takes no case that is none', () => {
    expect(secondTrySchema.safeParse({ ...one(), symptom: 'magic' }).success).toBe(false)
    expect(secondTrySchema.safeParse({ ...one(), answers: { a: 'cannot-check' } }).success).toBe(false)
  })
})
