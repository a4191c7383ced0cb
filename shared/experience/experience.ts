import { z } from 'zod'
import { wilsonInterval } from './interval.ts'
import type { RunFacts } from './run-facts.ts'
import { medianOf } from './usual.ts'

/** What one's own bench has shown, for the next run that goes the same way. It never leaves the machine. */

const countSchema = z.number().int().min(0)
const shareSchema = z.number().min(0).max(1)

export const experienceSchema = z.object({
  /** First attempts that failed; null where none was seen to its end. `low` and `high`: see `wilsonInterval`. */
  first: z
    .object({
      failed: countSchema,
      of: countSchema,
      low: shareSchema,
      high: shareSchema,
      isOfType: z.boolean(),
    })
    .nullable(),
  /** Second attempts that worked where nothing was put right in between. */
  second: z.object({ worked: countSchema, of: countSchema }).nullable(),
  /** How long each step usually takes, by its id. */
  times: z.record(
    z.string().min(1).max(40),
    z.object({ ms: z.number().positive(), runs: countSchema, isOfType: z.boolean() }),
  ),
})
export type Experience = z.infer<typeof experienceSchema>
export type UsualTime = Experience['times'][string]

export const NO_EXPERIENCE: Experience = { first: null, second: null, times: {} }

/** So many cases of the very type say more than all others together. A choice of ours, no source. */
export const ENOUGH = 3

/**
 * @param all of the same kind, guided or written
 * @param way the route or the dialect that is asked about
 * @param typeId of the receiver; cases of its type alone are taken where there are `ENOUGH` of them
 */
export function experienceOf(all: readonly RunFacts[], way: string, typeId: string | null): Experience {
  const same = all.filter(one => one.way === way)
  const isOfType = (one: RunFacts) => typeId !== null && one.typeId === typeId
  const choose = (cases: readonly RunFacts[]) => {
    const own = cases.filter(isOfType)
    return own.length >= ENOUGH ? { cases: own, isOfType: true } : { cases, isOfType: cases.every(isOfType) }
  }
  const first = choose(same.filter(one => one.first !== null))
  const second = choose(same.filter(one => one.second !== null)).cases
  const steps = [...new Set(same.flatMap(one => Object.keys(one.times)))]
  return {
    first: first.cases.length === 0 ? null : tallyOf(first),
    second:
      second.length === 0
        ? null
        : { worked: second.filter(one => one.second === 'worked').length, of: second.length },
    times: Object.fromEntries(
      steps.map(id => [id, usualOf(id, choose(same.filter(one => id in one.times)))] as const),
    ),
  }
}

interface Chosen {
  readonly cases: readonly RunFacts[]
  readonly isOfType: boolean
}

function tallyOf({ cases, isOfType }: Chosen): NonNullable<Experience['first']> {
  const failed = cases.filter(one => one.first === 'failed').length
  return { failed, of: cases.length, ...wilsonInterval(failed, cases.length), isOfType }
}

function usualOf(id: string, { cases, isOfType }: Chosen): UsualTime {
  return { ms: medianOf(cases.map(one => one.times[id])) ?? 0, runs: cases.length, isOfType }
}
