import type { WriteEnd } from '../dialect/plan.ts'
import type { Effect, SessionEvent } from '../procedure/effects.ts'
import type { Repeats, Said } from './check.ts'
import type { WriteStep } from './lane.ts'
import { StepLog, type StepTime } from './step-log.ts'

/** What a write shows of itself as it goes, in a rehearsal and on a port alike, so that one can be held to the other. */

/** Something that did not go through at once. */
export interface Trouble {
  readonly atMs: number
  readonly step: WriteStep
  readonly attempt: number
  /** What was said again; undefined of a whole attempt. */
  readonly what?: string
  readonly text: string
}

/** More of them is a bad line, of which a hundred examples are enough. */
const MOST_TROUBLES = 100

export class Watched {
  readonly #log: StepLog
  readonly #repeats: Trouble[] = []
  readonly #failures: Trouble[] = []
  #end: WriteEnd | undefined

  /** @param first what it begins with, before the procedure says anything */
  constructor(first?: { readonly step: WriteStep; readonly atMs: number }) {
    this.#log = new StepLog(first)
  }

  get steps(): readonly StepTime[] {
    return this.#log.steps
  }
  get now(): StepTime | undefined {
    return this.#log.now
  }
  get repeats(): readonly Trouble[] {
    return this.#repeats
  }
  get failures(): readonly Trouble[] {
    return this.#failures
  }
  /** How often it was asked to wait; undefined until it has ended. */
  get waits(): number | undefined {
    return this.#end?.waits
  }
  /** What the receiver said of itself; nothing until it has ended. */
  get said(): readonly Said[] {
    return this.#end === undefined ? [] : saidIn(this.#end)
  }

  before(effect: Effect, atMs: number): void {
    this.#log.before(effect, atMs)
  }

  tell(event: SessionEvent, atMs: number): void {
    const { step = 'open', attempt = 1 } = this.#log.now ?? {}
    const trouble = { atMs, step, attempt }
    if (event.kind === 'retry' && this.#repeats.length < MOST_TROUBLES)
      this.#repeats.push({ ...trouble, what: event.what, text: event.text })
    if (event.kind === 'attempt-failed') this.#failures.push({ ...trouble, text: event.text })
    this.#log.tell(event, atMs)
  }

  /** @param end undefined where it was broken off */
  end(end: WriteEnd | undefined, atMs: number): void {
    this.#end = end
    this.#log.end(atMs)
  }
}

/** Before anything was erased, and after the start where it was asked then. */
function saidIn({ saidBefore = [], identity = [] }: WriteEnd): Said[] {
  const after = identity === saidBefore ? [] : identity
  return [
    ...saidBefore.map(field => ({ ...field, when: 'before' as const, isSure: true })),
    ...after.map(field => ({ ...field, when: 'after' as const, isSure: true })),
  ]
}

/** How often each thing was said again. */
export function repeatsOf(troubles: readonly Trouble[]): Repeats[] {
  const all: Repeats[] = []
  for (const { step, attempt, what = '' } of troubles) {
    const same = all.find(r => r.step === step && r.attempt === attempt && r.what === what)
    if (same) same.times++
    else all.push({ step, attempt, what, times: 1 })
  }
  return all
}
