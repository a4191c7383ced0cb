import type { SessionEvent } from '../../shared/procedure/effects.ts'
import type { LiveTrace } from './live-trace.ts'

/** What a run tells of itself: each thing in its order, and progress when there is time for it. */

const MOST_NOTES = 20

export interface TellingOptions {
  /** @param atMs on the clock `nowMs` */
  readonly onEvent: (event: SessionEvent, atMs: number) => void
  readonly trace?: LiveTrace
  /** A clock that never runs back, in milliseconds. */
  readonly nowMs: () => number
}

interface Said {
  readonly event: SessionEvent
  readonly atMs: number
}

export class Telling {
  readonly #on: TellingOptions
  #untold: Said[] = []
  #notes = 0
  /** What a listener of ours threw while the port was telling something. */
  failure: { readonly error: unknown } | undefined

  constructor(on: TellingOptions) {
    this.#on = on
  }

  /** @throws what the listener throws */
  say(event: SessionEvent): void {
    const said = { event, atMs: this.#on.nowMs() }
    if (event.kind === 'progress') this.#untold.push(said)
    else {
      this.progress()
      this.#tell(said)
    }
  }

  /** There is one with each block, and the next block does not wait for it. @throws what the listener throws */
  progress(): void {
    if (this.#untold.length === 0) return
    const untold = this.#untold
    this.#untold = []
    for (const said of untold) this.#tell(said)
  }

  /** Said from inside what the port calls, which must not be thrown into; a line that is bad throughout is not told on. */
  note(text: string): void {
    if (this.#notes++ >= MOST_NOTES) return
    try {
      this.say({ kind: 'note', level: 'caution', text })
    } catch (error) {
      this.failure ??= { error }
    }
  }

  #tell({ event, atMs }: Said): void {
    this.#on.trace?.event(event, atMs)
    this.#on.onEvent(event, atMs)
  }
}
