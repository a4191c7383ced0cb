import type { Dialect } from './schema.ts'
import type { ExpectStep, SendStep, Step, Time } from './schema-steps.ts'

/** How long it takes at the most until a receiver that stays silent is given up, so that it can be said beforehand. */

export interface Unanswered {
  /** Milliseconds at the most. */
  readonly ms: number
  /** Without an answer nothing comes after these steps. */
  readonly ends: boolean
}

export interface Timing {
  readonly dialect: Dialect
  /** In milliseconds. */
  readonly timeMs: (time: Time) => number
  /** One character on the line, in milliseconds. */
  readonly characterMs: number
  /** In the first attempt, see `unaskedMs`. */
  readonly isFirst: boolean
}

/** Frame, numbers and checks around the data of a block: fewer octets than these. */
const AROUND_OCTETS = 64
/** A receiver that speaks by itself has had so many turns by then: common practice, no source. */
const UNASKED_TURNS = 6
/** So long at least, for one that is just starting again: common practice, no source. */
const LEAST_AGAIN_MS = 15_000

/**
 * How long it is waited for a receiver that speaks first, in milliseconds. It is given all the time that there is only
 * in the first attempt, where a person may still have to switch it on: after that it has spoken before.
 */
export function unaskedMs(step: ExpectStep, isFirst: boolean, timeMs: Timing['timeMs']): number {
  const mostMs = timeMs(step.within)
  if (isFirst || step.unaskedEvery === undefined) return mostMs
  return Math.min(mostMs, Math.max(LEAST_AGAIN_MS, UNASKED_TURNS * timeMs(step.unaskedEvery)))
}

/** How long these steps take at the most, begun anew, where nobody answers. */
export function unanswered(steps: readonly Step[], timing: Timing): Unanswered {
  let ms = 0
  for (const step of steps) {
    const one = unansweredStep(step, timing)
    ms += one.ms
    if (one.ends) return { ms, ends: true }
  }
  return { ms, ends: false }
}

function unansweredStep(step: Step, timing: Timing): Unanswered {
  const { dialect, timeMs, isFirst } = timing
  switch (step.do) {
    case 'line':
      return { ms: 0, ends: false }
    case 'wait':
    case 'quiet':
      return { ms: timeMs(step.for), ends: false }
    case 'send':
      return { ms: sendMs(step, timing), ends: false }
    case 'expect':
      return { ms: unaskedMs(step, isFirst, timeMs) + blockMs(timing), ends: true }
    case 'fail':
      return { ms: 0, ends: true }
    case 'repeat':
      return times(Math.min(step.times, step.silent ?? step.times), unanswered(step.steps, timing))
    case 'request': {
      const { request, silent = request } = dialect.retries
      const most = Math.min(step.tries ?? request, silent)
      const between = unanswered(step.resynchronise ?? dialect.resynchronise, timing)
      const once = unanswered(step.steps, timing)
      if (!once.ends) return once
      // Where it is not even brought back into step, it is not said again.
      if (between.ends) return { ms: once.ms + between.ms, ends: true }
      return { ms: most * (once.ms + between.ms), ends: true }
    }
    case 'when': {
      const [one, other] = [unanswered(step.steps, timing), unanswered(step.otherwise, timing)]
      return { ms: Math.max(one.ms, other.ms), ends: one.ends && other.ends }
    }
  }
}

const times = (most: number, { ms, ends }: Unanswered): Unanswered => ({ ms: ends ? most * ms : ms, ends })

const blockMs = ({ dialect, characterMs }: Timing): number =>
  (dialect.block.octets + AROUND_OCTETS) * characterMs

const sendMs = (step: SendStep, timing: Timing): number =>
  step.parts.some(part => part.part === 'data' || part.part === 'group' || part.part === 'pages')
    ? blockMs(timing)
    : AROUND_OCTETS * timing.characterMs

/**
 * How long it takes at the most from the moment at which an attempt is given up until the whole is, in milliseconds,
 * where nobody answers any more.
 * @param attemptsLeft how many more attempts are made
 */
export function silentEndMs(attemptsLeft: number, pauseMs: number, timing: Timing): number {
  const { enter, identify, erase, write, leave } = timing.dialect
  const steps = [
    ...enter,
    ...(identify?.steps ?? []),
    ...(erase?.steps ?? []),
    ...write.before,
    ...write.block,
  ]
  const later = { ...timing, isFirst: false }
  const leaveMs = unanswered(leave, later).ms
  return leaveMs + attemptsLeft * (pauseMs + unanswered(steps, later).ms + leaveMs)
}
