import { type Phase, type PhaseId, phaseWords } from '../sim/trace.ts'

/** One phase of the rehearsal with the time until the next one began. */
export interface PhaseTime {
  readonly id: PhaseId
  readonly words: string
  readonly ms: number
}

/** What the rehearsal took for each part of the run, in milliseconds. */
export interface RehearsedTimes {
  readonly card: readonly PhaseTime[]
  /** By attempt, from the first; `start` is until the radio knows whom it talks to, `watch` is the rest. */
  readonly attempts: readonly { readonly start: readonly PhaseTime[]; readonly watch: readonly PhaseTime[] }[]
  /** From the end of one failed attempt to the beginning of the next, for each but the first. */
  readonly pausesMs: readonly number[]
}

const AT_START: readonly PhaseId[] = ['check', 'quiet', 'search', 'enter', 'identify']

/**
 * Deals the whole time of a session out to its phases, so that nothing is lost: a phase lasts until the next one
 * begins, the first from the very beginning, the last to the very end.
 * @param endMs when the session ended, as the report says
 */
export function timesOf(phases: readonly Phase[], endMs: number): RehearsedTimes {
  const card: PhaseTime[] = []
  const attempts: { start: PhaseTime[]; watch: PhaseTime[] }[] = []
  const pausesMs: number[] = []
  phases.forEach((phase, i) => {
    const next = phases[i + 1]
    const fromMs = i === 0 ? 0 : phase.startNs / 1e6
    const isLastOfAttempt = next !== undefined && next.attempt > phase.attempt && phase.id !== 'stage'
    const toMs = next === undefined ? endMs : (isLastOfAttempt ? phase.endNs : next.startNs) / 1e6
    const time = { id: phase.id, words: phaseWords[phase.id], ms: Math.max(0, toMs - fromMs) }
    if (phase.id === 'stage') return card.push(time)
    while (attempts.length < phase.attempt) attempts.push({ start: [], watch: [] })
    attempts[phase.attempt - 1][AT_START.includes(phase.id) ? 'start' : 'watch'].push(time)
    if (isLastOfAttempt) pausesMs.push(next.startNs / 1e6 - toMs)
  })
  return { card, attempts, pausesMs }
}

export const sumMs = (phases: readonly PhaseTime[]): number => phases.reduce((sum, { ms }) => sum + ms, 0)
