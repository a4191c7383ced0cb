import type { SecondTry } from '../diagnose/report.ts'
import type { Route } from '../model/units.ts'
import { expectedMs, type Other, type Runbook } from '../runbook/schema.ts'
import { factsOf, type RunState, type Visit } from '../runbook/state.ts'
import { isPlausible } from './usual.ts'

export type Went = 'worked' | 'failed'

/** What one update that is over tells of the next ones: nothing but what was seen in it. */
export interface RunFacts {
  readonly typeId: string | null
  /** The route of a guided run, or the dialect of a write: only what went the same way is put together. */
  readonly way: string
  /** How the first attempt went; null where it was not made, or not seen to its end. */
  readonly first: Went | null
  /** How the second went where the first had failed and nothing was put right in between; else null. */
  readonly second: Went | null
  /** How long each step took that was gone through in one go, by its id, in milliseconds. */
  readonly times: Readonly<Record<string, number>>
  /** For the odds of the diagnosis: a first attempt that failed, and a second that worked by itself. */
  readonly secondTry: SecondTry | null
}

/** @param state after all answers of the run */
export function factsOfRun(
  { route, receiver }: Pick<Runbook, 'route' | 'receiver'>,
  state: Pick<RunState, 'visits'>,
): RunFacts {
  const { visits } = state
  const failed = visits.findIndex(isFailure)
  const end = visits.find(isProof)
  const first = failed >= 0 ? 'failed' : end === undefined ? null : 'worked'
  const second = failed < 0 ? null : secondOf(visits.slice(failed + 1))
  const secondTry = second === 'worked' ? secondTryOf(route, visits.slice(0, failed + 1)) : null
  return { typeId: receiver.typeId, way: route, first, second, times: timesOf(visits), secondTry }
}

const isFirst = (id: string) => id === 'start' || id === 'watch'
const isSecond = (id: string) => id === 'second-start' || id === 'second-watch'
const isOther = (said: Visit['said']): said is Other => said !== undefined && said !== 'saw'

/** With these the radio has not even tried. */
const NOT_TRIED: readonly Other['symptom'][] = ['card-not-seen', 'not-offered']

const isFailure = ({ step, said }: Visit): boolean =>
  isOther(said) && ((isFirst(step.id) && !NOT_TRIED.includes(said.symptom)) || isOldStill(step.id, said))

/** The radio said that it was done, and the receiver still runs the old version. */
const isOldStill = (id: string, { leads }: Other) => id === 'version' && leads.to === 'step'

const isProof = ({ step, said }: Visit): boolean => step.id === 'version' && said === 'saw'

/** @param after visits behind the one in which the first attempt failed */
function secondOf(after: readonly Visit[]): Went | null {
  let hasWritten = false
  for (const visit of after) {
    // Something was put right, or done that nobody knows of: no second attempt at the same.
    if (visit.isAgain || visit.isBroken) return null
    const { step, said } = visit
    if (isOther(said) && (isSecond(step.id) || step.id === 'version')) return 'failed'
    // It can turn out that the first attempt had gone through after all: then there was no second.
    if (isProof(visit)) return hasWritten ? 'worked' : null
    hasWritten ||= step.id === 'second-watch' && said === 'saw'
  }
  return null
}

/** @param until visits up to the one in which the first attempt failed */
function secondTryOf(route: Route, until: readonly Visit[]): SecondTry | null {
  const { said } = until[until.length - 1]
  const symptom = isOther(said) ? said.symptom : undefined
  if (symptom === undefined) return null
  const answers: SecondTry['answers'] = {}
  for (const [id, answer] of Object.entries(factsOf(until)))
    if (answer !== 'cannot-check') answers[id] = answer
  return { symptom, route, answers }
}

/** The first time that each step was gone through in one go, where that can be how long it took. */
function timesOf(visits: readonly Visit[]): Record<string, number> {
  const times: Record<string, number> = {}
  for (const { step, said, saidAtMs, enteredAtMs, isBroken } of visits) {
    if (said !== 'saw' || isBroken || saidAtMs === undefined || step.id in times) continue
    const ms = saidAtMs - enteredAtMs
    if (isPlausible(ms, expectedMs(step))) times[step.id] = ms
  }
  return times
}
