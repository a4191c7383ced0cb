import type { AnnouncedEffect, LogEvent } from '../logbook/event.ts'
import type { Effect, SessionEvent } from '../procedure/effects.ts'
import { type PhaseId, phaseWords } from '../sim/trace.ts'

/** What goes into the logbook before each effect of a write is carried out. */

/** So much is announced in one go: seconds on the line, so that committing it costs next to nothing. */
export const ANNOUNCED_OCTETS = 16 * 1024
/** On a line so fast that this takes less than so many milliseconds, twice as much is announced the next time. */
const LEAST_ANNOUNCED_MS = 100
/** What took longer than so many milliseconds was announced too far ahead. */
const MOST_ANNOUNCED_MS = 1000
export const MOST_ANNOUNCED_OCTETS = 256 * 1024
/** No block is longer, so a block never reaches beyond what was announced. */
const MOST_BLOCK_OCTETS = 4096
const PROGRESS_MS = 1000

const OF_PHASE: Partial<Record<PhaseId, AnnouncedEffect>> = {
  enter: 'enter',
  backup: 'read',
  erase: 'erase',
  verify: 'verify',
  commit: 'commit',
  restart: 'restart',
}

export class Announcer {
  readonly #imageOctets: number
  /** What begins the writing may already make the receiver erase, where no erase phase comes before. */
  readonly #beginChanges: boolean
  #phase: PhaseId | undefined
  #announced = false
  #upTo = 0
  #done = 0
  #octets = ANNOUNCED_OCTETS
  #announcedAtMs = Number.NEGATIVE_INFINITY
  /** The largest step that was seen: how much one block is. */
  #block = 0
  #saidLast = false
  #progressAtMs = Number.NEGATIVE_INFINITY

  constructor(about: { readonly imageOctets: number; readonly beginChanges: boolean }) {
    this.#imageOctets = about.imageOctets
    this.#beginChanges = about.beginChanges
  }

  /** @returns what has to be committed before this effect is carried out, in order */
  before(effect: Effect, nowMs: number): LogEvent[] {
    if (effect.do === 'say') return this.#said(effect.event, nowMs)
    if (effect.do === 'line') return [{ kind: 'effect', effect: 'line', text: lineWords(effect) }]
    return effect.do === 'send' ? this.#sends(nowMs) : []
  }

  #said(event: SessionEvent, nowMs: number): LogEvent[] {
    if (event.kind === 'phase') {
      this.#phase = event.phase
      this.#announced = false
      this.#upTo = 0
      this.#done = 0
      this.#saidLast = false
      this.#progressAtMs = nowMs
    }
    if (event.kind !== 'progress') return [event]
    if (this.#phase === 'write') this.#block = Math.max(this.#block, event.done - this.#done)
    const isFirst = this.#done === 0 && event.done > 0
    this.#done = event.done
    // The first shows that it has begun: without it a cut in the first second would leave that open.
    if (!isFirst && event.done < event.total && nowMs - this.#progressAtMs < PROGRESS_MS) return []
    this.#progressAtMs = nowMs
    return [event]
  }

  #sends(nowMs: number): LogEvent[] {
    const phase = this.#phase
    if (phase === 'write') return this.#writes(nowMs)
    if (phase === undefined || this.#announced) return []
    this.#announced = true
    const text = phaseWords[phase]
    if (phase === 'begin' && this.#beginChanges)
      return [{ kind: 'effect', effect: 'write', offset: 0, bytes: 0, text }]
    const effect = OF_PHASE[phase]
    return effect ? [{ kind: 'effect', effect, text }] : []
  }

  #writes(nowMs: number): LogEvent[] {
    const total = this.#imageOctets
    const block = this.#block || MOST_BLOCK_OCTETS
    const isLast = this.#done + block >= total
    if (isLast && !this.#saidLast) return this.#announce(this.#done, total - this.#done, true)
    if (isLast || this.#done + MOST_BLOCK_OCTETS <= this.#upTo || this.#upTo >= total) return []
    this.#octets = this.#octetsAt(nowMs)
    return this.#announce(this.#upTo, Math.min(this.#octets, total - this.#upTo), false)
  }

  #octetsAt(nowMs: number): number {
    const tookMs = nowMs - this.#announcedAtMs
    this.#announcedAtMs = nowMs
    if (tookMs > MOST_ANNOUNCED_MS) return ANNOUNCED_OCTETS
    return tookMs < LEAST_ANNOUNCED_MS ? Math.min(MOST_ANNOUNCED_OCTETS, 2 * this.#octets) : this.#octets
  }

  #announce(offset: number, bytes: number, last: boolean): LogEvent[] {
    this.#upTo = offset + bytes
    this.#saidLast = last
    const text = `Write ${last ? 'the last ' : ''}${bytes} ${bytes === 1 ? 'octet' : 'octets'} from ${offset} on`
    return [{ kind: 'effect', effect: 'write', offset, bytes, ...(last ? { last } : {}), text }]
  }
}

function lineWords({ baud, parity, dtr, rts, break: breaks }: Extract<Effect, { do: 'line' }>): string {
  const said = [
    ...(baud === undefined ? [] : [`${baud} baud`]),
    ...(parity === undefined ? [] : [`parity ${parity}`]),
    ...(dtr === undefined ? [] : [`DTR ${dtr ? 'on' : 'off'}`]),
    ...(rts === undefined ? [] : [`RTS ${rts ? 'on' : 'off'}`]),
    ...(breaks === undefined ? [] : [`break ${breaks ? 'on' : 'off'}`]),
  ]
  return said.length === 0 ? 'Take the line' : `Set the line: ${said.join(', ')}`
}
