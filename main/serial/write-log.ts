import { Announcer } from '../../shared/bench-run/announcer.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { Effect, SessionEvent } from '../../shared/procedure/effects.ts'

/** Where a session's events are committed; what it throws keeps the effect from being carried out. */
export type Commit = (event: LogEvent) => void

/** So much is kept back before it is committed; a crash loses the replay of it, and no event. */
const ANSWERS_AT_ONCE = 400
const ANSWER_CHARACTERS_AT_ONCE = 48 * 1024

/** Commits what a write is about to do before it does it, and what it says as it says it. */
export class WriteLog {
  /** All that was committed, but the recorded answers. */
  readonly events: LogEvent[] = []
  readonly #commit: Commit
  readonly #announcer: Announcer
  #announced: SessionEvent | undefined
  #answers: string[] = []
  #characters = 0

  constructor(commit: Commit, about: ConstructorParameters<typeof Announcer>[0]) {
    this.#commit = commit
    this.#announcer = new Announcer(about)
  }

  /** @throws what committing throws: then the effect must not be carried out */
  before(effect: Effect, nowMs: number): void {
    if (effect.do === 'say') this.#announced = effect.event
    for (const event of this.#announcer.before(effect, nowMs)) this.#add(event)
  }

  /** What is said on the way by somebody else than the procedure is committed here. */
  said(event: SessionEvent): void {
    if (event === this.#announced || event.kind === 'progress') return
    this.#add(event)
  }

  add(event: LogEvent): void {
    this.#add(event)
  }

  answered(text: string): void {
    this.#answers.push(text)
    this.#characters += text.length
    if (this.#answers.length >= ANSWERS_AT_ONCE || this.#characters >= ANSWER_CHARACTERS_AT_ONCE) this.flush()
  }

  flush(): void {
    if (this.#answers.length === 0) return
    const answers = this.#answers
    this.#answers = []
    this.#characters = 0
    this.#commit({ kind: 'answers', answers })
  }

  #add(event: LogEvent): void {
    this.#commit(event)
    this.events.push(event)
  }
}
