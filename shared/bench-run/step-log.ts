import type { SessionEvent } from '../procedure/effects.ts'
import type { WriteStep } from './lane.ts'

export interface StepTime {
  readonly step: WriteStep
  readonly attempt: number
  readonly startMs: number
  /** Null while it lasts. */
  readonly endMs: number | null
}

/** Steps of a write as its events tell them, one behind the other without gaps: of a rehearsal and of a real one. */
export class StepLog {
  readonly #steps: { step: WriteStep; attempt: number; startMs: number; endMs: number | null }[] = []

  /** @param first what it begins with, before the procedure says anything */
  constructor(first?: { readonly step: WriteStep; readonly atMs: number }) {
    if (first) this.#begin(first.step, 1, first.atMs)
  }

  get steps(): readonly StepTime[] {
    return this.#steps.map(step => ({ ...step }))
  }

  get now(): StepTime | undefined {
    const last = this.#steps.at(-1)
    return last?.endMs === null ? { ...last } : undefined
  }

  tell(event: SessionEvent, atMs: number): void {
    if (event.kind === 'phase') this.#begin(event.phase, Math.max(1, event.attempt), atMs)
    if (event.kind === 'attempt-failed') this.#begin('pause', Math.max(1, event.attempt), atMs)
  }

  end(atMs: number): void {
    const last = this.#steps.at(-1)
    if (last) last.endMs ??= atMs
    // The pause after the last attempt is none.
    if (last?.step === 'pause' && this.#steps.length > 1) this.#steps.pop()
  }

  #begin(step: WriteStep, attempt: number, atMs: number): void {
    const last = this.#steps.at(-1)
    if (last) last.endMs ??= atMs
    this.#steps.push({ step, attempt, startMs: atMs, endMs: null })
  }
}
