import type { Effect, SessionEvent } from '../procedure/effects.ts'
import type { StepSeen } from './check.ts'
import type { WriteStep } from './lane.ts'

export interface StepTime {
  readonly step: WriteStep
  readonly attempt: number
  readonly startMs: number
  /** Null while it lasts. */
  readonly endMs: number | null
  readonly seen?: StepSeen
}

interface Step {
  readonly step: WriteStep
  readonly attempt: number
  readonly startMs: number
  endMs: number | null
  done: number
  pieces: number
  answersMs: number[]
  answerMs: number | null
}

/** With fewer the middle of them says nothing; more are not kept. */
const LEAST_ANSWERS = 10
const MOST_ANSWERS = 2000

/** Steps of a write as its events tell them, one behind the other without gaps: of a rehearsal and of a real one. */
export class StepLog {
  readonly #steps: Step[] = []
  #askedAtMs: number | undefined
  #isListening = false

  /** @param first what it begins with, before the procedure says anything */
  constructor(first?: { readonly step: WriteStep; readonly atMs: number }) {
    if (first) this.#begin(first.step, 1, first.atMs)
  }

  get steps(): readonly StepTime[] {
    return this.#steps.map(stepTime)
  }

  get now(): StepTime | undefined {
    const last = this.#steps.at(-1)
    return last?.endMs === null ? stepTime(last) : undefined
  }

  /** Told of each effect before it is carried out: what comes behind an answer tells how long that took. */
  before(effect: Effect, atMs: number): void {
    if (this.#isListening && this.#askedAtMs !== undefined) {
      const answers = this.#steps.at(-1)?.answersMs
      if (answers !== undefined && answers.length < MOST_ANSWERS) answers.push(atMs - this.#askedAtMs)
      this.#askedAtMs = undefined
    }
    this.#isListening = effect.do === 'receive'
    if (effect.do === 'send') this.#askedAtMs ??= atMs
  }

  tell(event: SessionEvent, atMs: number): void {
    if (event.kind === 'phase') this.#begin(event.phase, Math.max(1, event.attempt), atMs)
    if (event.kind === 'attempt-failed') this.#begin('pause', Math.max(1, event.attempt), atMs)
    const last = this.#steps.at(-1)
    if (event.kind !== 'progress' || last === undefined) return
    last.done = event.done
    last.pieces++
  }

  end(atMs: number): void {
    this.#finish(atMs)
    // The pause after the last attempt is none.
    if (this.#steps.at(-1)?.step === 'pause' && this.#steps.length > 1) this.#steps.pop()
  }

  #begin(step: WriteStep, attempt: number, atMs: number): void {
    this.#finish(atMs)
    this.#askedAtMs = undefined
    this.#steps.push({
      ...{ step, attempt, startMs: atMs, endMs: null },
      ...{ done: 0, pieces: 0, answersMs: [], answerMs: null },
    })
  }

  #finish(atMs: number): void {
    const last = this.#steps.at(-1)
    if (last === undefined || last.endMs !== null) return
    last.endMs = atMs
    const { length } = last.answersMs
    if (length >= LEAST_ANSWERS) last.answerMs = last.answersMs.sort((a, b) => a - b)[length >> 1]
    last.answersMs = []
  }
}

const stepTime = ({ step, attempt, startMs, endMs, done, pieces, answerMs }: Step): StepTime => ({
  ...{ step, attempt, startMs, endMs, seen: { done, pieces, answerMs } },
})
