/** Times the real speed. */
export const SPEEDS = [1, 10, 100] as const
export type Speed = (typeof SPEEDS)[number]

/** What the controls show; a new object whenever one of its parts changes. */
export interface ClockView {
  readonly atNs: number
  readonly playing: boolean
  readonly speed: Speed
  readonly ended: boolean
}

/** Text follows the play head this often; pictures follow it every frame. */
const TEXT_EVERY_MS = 100

/**
 * The one play head of a session. It knows no clock of its own: `tick` is told the time by whoever draws frames, and
 * so tests can tell it any time. Pictures read `atNs` when they draw; text subscribes and hears of it ten times a
 * second and at each change of hand.
 */
export class PlaybackClock {
  readonly endNs: number
  /** Rising moments that stepping stops at. */
  readonly stopsNs: readonly number[]
  atNs = 0
  private playing = false
  private speed: Speed = 1
  private lastTickMs: number | undefined
  private lastTextMs = Number.NEGATIVE_INFINITY
  private shown: ClockView
  private readonly textListeners = new Set<() => void>()
  private readonly frameListeners = new Set<() => void>()

  /** @param stopsNs moments to step to; start and end are added */
  constructor(endNs: number, stopsNs: readonly number[] = []) {
    this.endNs = endNs
    const inside = stopsNs.filter(at => at > 0 && at < endNs)
    this.stopsNs = [...new Set([0, ...inside, endNs])].sort((a, b) => a - b)
    this.shown = this.look()
  }

  /** For `useSyncExternalStore`. */
  readonly subscribe = (listener: () => void): (() => void) => {
    this.textListeners.add(listener)
    return () => this.textListeners.delete(listener)
  }
  readonly view = (): ClockView => this.shown

  /** Calls back whenever pictures have to be drawn anew: each frame in play, and at each jump. */
  onFrame(listener: () => void): () => void {
    this.frameListeners.add(listener)
    return () => this.frameListeners.delete(listener)
  }

  get isPlaying(): boolean {
    return this.playing
  }

  play(): void {
    if (this.atNs >= this.endNs) this.atNs = 0
    this.playing = true
    this.lastTickMs = undefined
    this.tell()
  }

  pause(): void {
    this.playing = false
    this.tell()
  }

  toggle(): void {
    if (this.playing) this.pause()
    else this.play()
  }

  setSpeed(speed: Speed): void {
    this.speed = speed
    this.tell()
  }

  /** One speed up (`1`) or down (`-1`), as far as they go. */
  changeSpeed(by: 1 | -1): void {
    const next = SPEEDS[SPEEDS.indexOf(this.speed) + by]
    if (next !== undefined) this.setSpeed(next)
  }

  /** Moves the play head; outside the session it stops at the ends. */
  seek(atNs: number): void {
    this.atNs = Math.min(this.endNs, Math.max(0, atNs))
    this.tell()
  }

  toStart(): void {
    this.playing = false
    this.seek(0)
  }

  toEnd(): void {
    this.playing = false
    this.seek(this.endNs)
  }

  /** Stops, and goes to the next (`1`) or the previous (`-1`) stop. */
  step(by: 1 | -1): void {
    this.playing = false
    const next =
      by === 1 ? this.stopsNs.find(at => at > this.atNs) : this.stopsNs.findLast(at => at < this.atNs)
    this.seek(next ?? this.atNs)
  }

  /** @param nowMs time of this frame; only differences count */
  tick(nowMs: number): void {
    if (!this.playing) return
    const passedMs = this.lastTickMs === undefined ? 0 : Math.max(0, nowMs - this.lastTickMs)
    this.lastTickMs = nowMs
    this.atNs = Math.min(this.endNs, this.atNs + passedMs * 1e6 * this.speed)
    if (this.atNs >= this.endNs) {
      this.playing = false
      this.tell()
      return
    }
    for (const listener of this.frameListeners) listener()
    if (nowMs - this.lastTextMs >= TEXT_EVERY_MS) {
      this.lastTextMs = nowMs
      this.tellText()
    }
  }

  private tell(): void {
    for (const listener of this.frameListeners) listener()
    this.tellText()
  }

  private tellText(): void {
    this.shown = this.look()
    for (const listener of this.textListeners) listener()
  }

  private look(): ClockView {
    return { atNs: this.atNs, playing: this.playing, speed: this.speed, ended: this.atNs >= this.endNs }
  }
}
