import { Announcer } from '../../shared/bench-run/announcer.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { Effect, SessionEvent } from '../../shared/procedure/effects.ts'

/** Where a session's events are committed, in one go; what it throws keeps the effect from being carried out. */
export type Commit = (events: readonly LogEvent[]) => void

/** So much is kept back before it is committed; a crash loses the replay of it, and no event. */
const ANSWERS_AT_ONCE = 400
const ANSWER_CHARACTERS_AT_ONCE = 48 * 1024

/**
 * Commits what a write is about to do before it does it, and with it what was said until then: committing takes longer
 * than most exchanges, and what is said changes nothing on the line.
 */
export class WriteLog {
  readonly #commit: Commit
  readonly #announcer: Announcer
  readonly #committed: LogEvent[] = []
  /** Said, and nothing was done since. */
  #said: LogEvent[] = []
  #announced: SessionEvent | undefined
  #answers: string[] = []
  #characters = 0

  constructor(commit: Commit, about: ConstructorParameters<typeof Announcer>[0]) {
    this.#commit = commit
    this.#announcer = new Announcer(about)
  }

  /** All that was committed or said, but the recorded answers. */
  get events(): readonly LogEvent[] {
    return [...this.#committed, ...this.#said]
  }

  /** @throws what committing throws: then the effect must not be carried out */
  before(effect: Effect, nowMs: number): void {
    const events = this.#announcer.before(effect, nowMs)
    if (effect.do !== 'say') return this.add(...events)
    this.#announced = effect.event
    this.#said.push(...events)
  }

  /** What is said on the way by somebody else than the procedure is committed here. */
  said(event: SessionEvent): void {
    if (event === this.#announced || event.kind === 'progress') return
    this.add(event)
  }

  /** Commits these, behind all that was said before. */
  add(...events: readonly LogEvent[]): void {
    const all = [...this.#said, ...events]
    if (all.length === 0) return
    this.#commit(all)
    this.#said = []
    this.#committed.push(...all)
  }

  answered(text: string): void {
    this.#answers.push(text)
    this.#characters += text.length
    if (this.#answers.length >= ANSWERS_AT_ONCE || this.#characters >= ANSWER_CHARACTERS_AT_ONCE)
      this.#commit(this.#takeAnswers())
  }

  /** Commits all that is left, and these behind it. */
  end(...events: readonly LogEvent[]): void {
    this.#commit([...this.#said, ...this.#takeAnswers(), ...events])
    this.#said = []
  }

  #takeAnswers(): LogEvent[] {
    const answers = this.#answers
    this.#answers = []
    this.#characters = 0
    return answers.length === 0 ? [] : [{ kind: 'answers', answers }]
  }
}
