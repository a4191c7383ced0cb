import type { Candidate } from './device-flow.ts'
import { complaintOf, type Hearing, type Message, nextBare, nextFramed } from './device-hearing.ts'
import type { ExpectStep } from './schema-steps.ts'

/**
 * What an emulated receiver has heard and not made sense of yet: whole messages are taken out one by one, nonsense is
 * passed over until the line is quiet, and what does not go on is given up.
 */

/** A message that is longer than any is given up; so is what nobody understands. */
const MOST_HEARD = 16_384

export interface InboxOptions {
  /** How long the line has to be quiet before it complains about what it did not understand. */
  readonly quietNs: number
  /** The longest gap in the middle of a message; without it one may last for ever. */
  readonly gapNs: number | undefined
}

export class Inbox {
  private readonly o: InboxOptions
  private heard = new Uint8Array(0)
  private quietAtNs: number | undefined
  private gapEndsNs: number | undefined
  private complaint: ExpectStep | undefined

  constructor(options: InboxOptions) {
    this.o = options
  }

  get isEmpty(): boolean {
    return this.heard.length === 0
  }

  /** When something of it is `overdue`, in nanoseconds. */
  get dueNs(): number | undefined {
    return this.quietAtNs ?? this.gapEndsNs
  }

  /** @param atNs when the last of them ended @returns whether there may be a message in it now */
  add(octets: Uint8Array, atNs: number): boolean {
    if (this.quietAtNs !== undefined) {
      this.quietAtNs = atNs + this.o.quietNs
      return false
    }
    const all = new Uint8Array(this.heard.length + octets.length)
    all.set(this.heard)
    all.set(octets, this.heard.length)
    this.heard = all.slice(-MOST_HEARD)
    this.gapEndsNs = undefined
    return true
  }

  /**
   * Takes out the message that it begins with.
   * @param candidates what may be heard now
   * @returns undefined where there is none yet, or nothing that makes sense
   */
  next(candidates: readonly Candidate[], hearing: Hearing, atNs: number): Message | undefined {
    const find = hearing.framer === undefined ? nextBare : nextFramed
    const next = find(candidates, this.heard, hearing)
    if (next === 'more') {
      const { gapNs } = this.o
      if (gapNs !== undefined) this.gapEndsNs = atNs + gapNs
    } else if (next === 'none') {
      this.heard = new Uint8Array(0)
      this.quietAtNs = atNs + this.o.quietNs
      this.complaint = complaintOf(candidates)?.step
    } else {
      this.heard = this.heard.slice(next.end)
      return next
    }
    return undefined
  }

  /**
   * What was not understood, or not ended, is given up when its time has come.
   * @param candidates what may be heard now
   * @returns the answer in whose place it complains, where it has words for that
   */
  overdue(nowNs: number, candidates: () => readonly Candidate[]): ExpectStep | undefined {
    if (this.quietAtNs !== undefined && this.quietAtNs <= nowNs) {
      const { complaint } = this
      this.quietAtNs = undefined
      this.complaint = undefined
      return complaint
    }
    if (this.gapEndsNs === undefined || this.gapEndsNs > nowNs) return undefined
    this.gapEndsNs = undefined
    this.heard = new Uint8Array(0)
    return complaintOf(candidates())?.step
  }

  forget(): void {
    this.heard = new Uint8Array(0)
    this.quietAtNs = undefined
    this.gapEndsNs = undefined
    this.complaint = undefined
  }
}
