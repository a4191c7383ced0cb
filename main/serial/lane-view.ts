import type { Rehearsed } from '../../shared/bench-run/check.ts'
import { differences } from '../../shared/bench-run/compare.ts'
import { type LaneReport, MOST_NOTES, type WriteEnding, type WriteStep } from '../../shared/bench-run/lane.ts'
import { Rate } from '../../shared/bench-run/rate.ts'
import { Watched } from '../../shared/bench-run/watched.ts'
import type { WriteEnd } from '../../shared/dialect/plan.ts'
import type { Effect, Level, SessionEvent } from '../../shared/procedure/effects.ts'

/** What is shown of a write while it runs, gathered from what it says. */

/** Steps whose progress counts octets. */
const IN_OCTETS: readonly WriteStep[] = ['write', 'verify', 'backup']

export type LaneAbout = Pick<LaneReport, 'lane' | 'port' | 'receiver' | 'image' | 'dialect'>

export class LaneView {
  sessionId: string | null = null
  end: WriteEnding | null = null
  readonly #about: LaneAbout
  readonly #rehearsed: Rehearsed | null
  readonly #startedAtMs: number
  readonly #watched: Watched
  readonly #rate = new Rate()
  readonly #notes: LaneReport['notes'] = []
  #done = 0
  #total = 0
  #attempt = 1
  #retries = 0
  #endedAtMs: number | undefined

  constructor(about: LaneAbout, rehearsed: Rehearsed | null, nowMs: number) {
    this.#about = about
    this.#rehearsed = rehearsed
    this.#startedAtMs = nowMs
    this.#watched = new Watched({ step: 'open', atMs: 0 })
  }

  /** Told of each effect before it is carried out. */
  before(effect: Effect, nowMs: number): void {
    this.#watched.before(effect, nowMs - this.#startedAtMs)
  }

  tell(event: SessionEvent, nowMs: number): void {
    const atMs = nowMs - this.#startedAtMs
    this.#watched.tell(event, atMs)
    switch (event.kind) {
      case 'phase':
        this.#attempt = Math.max(1, event.attempt)
        this.#setProgress(0, 0)
        break
      case 'progress':
        this.#rate.tell(nowMs, event.done)
        this.#done = event.done
        this.#total = event.total
        break
      case 'note':
        this.#note(atMs, event.level, event.text, event.mostMs)
        break
      case 'retry':
        this.#retries++
        this.#note(atMs, 'caution', event.text)
        break
      case 'attempt-failed':
        this.#retries++
        this.#setProgress(0, 0)
        this.#note(atMs, 'danger', event.text)
        break
      case 'fault':
      case 'refused':
        this.#note(atMs, 'danger', event.text)
        break
      case 'outcome':
        break
    }
  }

  /** @param returned what the procedure itself returned, where it did */
  finish(end: WriteEnding, returned: WriteEnd | undefined, nowMs: number): void {
    this.#endedAtMs = nowMs
    this.#watched.end(returned, nowMs - this.#startedAtMs)
    this.#retries = end.retries
    this.end = end
  }

  report(nowMs: number): LaneReport {
    const atMs = (this.#endedAtMs ?? nowMs) - this.#startedAtMs
    const { steps } = this.#watched
    const step = this.#watched.now?.step ?? steps.at(-1)?.step ?? 'open'
    const isLive = this.end === null
    const perSecond = isLive ? this.#rate.perSecond(nowMs) : undefined
    return {
      ...this.#about,
      sessionId: this.sessionId,
      step,
      done: this.#done,
      total: this.#total,
      octetsPerSecond: perSecond !== undefined && IN_OCTETS.includes(step) ? Math.round(perSecond) : null,
      secondsLeft: isLive ? this.#secondsLeft(nowMs, step) : null,
      attempt: this.#attempt,
      retries: this.#retries,
      elapsedMs: Math.round(atMs),
      notes: [...this.#notes],
      steps: steps.map(({ step: name, attempt, startMs, endMs }) => ({
        ...{ step: name, attempt, startMs: Math.round(startMs), endMs: rounded(endMs) },
      })),
      rehearsed: this.#rehearsed,
      differs: this.#differs(atMs),
      end: this.end,
    }
  }

  #differs(atMs: number): LaneReport['differs'] {
    if (this.#rehearsed === null) return []
    const { end } = this
    const { steps, repeats, failures, said, waits } = this.#watched
    return differences(this.#rehearsed, {
      ...{ steps, repeats, failures, said, waits },
      retries: this.#retries,
      nowMs: atMs,
      ...(end === null
        ? {}
        : { endedWell: end.outcome === 'updated' || end.outcome === 'unproven', endText: end.text }),
    }).map(d => ({ ...d, atMs: Math.round(d.atMs) }))
  }

  /** The rest of this step at its rate, and the steps behind it as they were rehearsed. */
  #secondsLeft(nowMs: number, step: WriteStep): number | null {
    const own = this.#rate.secondsLeft(nowMs, this.#total)
    if (own === undefined) return null
    const rehearsed = this.#rehearsed?.steps ?? []
    const at = rehearsed.findIndex(s => s.step === step)
    const later = at < 0 ? [] : rehearsed.slice(at + 1)
    const restMs = later.reduce((sum, s) => sum + (s.endMs - s.startMs), 0)
    return Math.round(own + restMs / 1000)
  }

  #setProgress(done: number, total: number): void {
    this.#rate.reset()
    this.#done = done
    this.#total = total
  }

  #note(atMs: number, level: Level, text: string, mostMs?: number): void {
    this.#notes.push({ atMs: Math.round(atMs), level, text, ...(mostMs === undefined ? {} : { mostMs }) })
    if (this.#notes.length > MOST_NOTES) this.#notes.shift()
  }
}

const rounded = (ms: number | null) => (ms === null ? null : Math.round(ms))
