import type { PlaybackClock } from '../playback/clock.ts'
import { type FrameRef, type LineSession, nearestFrame, neighbour } from './session.ts'
import {
  clampView,
  follow,
  panBy,
  type Viewport,
  viewOfLevel,
  widestSpan,
  type ZoomLevel,
  zoomAbout,
} from './viewport.ts'

/** What the parts of the screen around the time line show of it. */
export interface TimeLineView {
  readonly level: ZoomLevel | undefined
  readonly spanNs: number
  readonly selected: FrameRef | undefined
  readonly hovered: FrameRef | undefined
}

const ZOOM_STEP = 1.6
/** A frame fills this share of the screen when it is zoomed to. */
const FRAME_SHARE = 0.8

/**
 * Which part of the session is in view and which frame is looked at. Pictures read `view`; text subscribes, and hears
 * only of changes that it shows.
 */
export class TimeLineController {
  readonly session: LineSession
  readonly clock: PlaybackClock
  view: Viewport
  /** The lane that "previous frame" and "next frame" walk along. */
  private laneNumber = 0
  private shown: TimeLineView
  /** The level that a button set, and its span: turned to another span, it is no longer that level. */
  private set: { readonly level: ZoomLevel; readonly spanNs: number } | undefined
  private selected: FrameRef | undefined
  private hovered: FrameRef | undefined
  private readonly listeners = new Set<() => void>()
  private readonly frameListeners = new Set<() => void>()

  constructor(session: LineSession, clock: PlaybackClock) {
    this.session = session
    this.clock = clock
    this.view = viewOfLevel('session', 0, session.units)
    this.shown = this.look()
    clock.onFrame(() => {
      this.view = follow(this.view, clock.atNs, session.units)
      this.draw()
    })
  }

  readonly subscribe = (listener: () => void): (() => void) => {
    this.listeners.add(listener)
    return () => this.listeners.delete(listener)
  }
  readonly read = (): TimeLineView => this.shown

  onDraw(listener: () => void): () => void {
    this.frameListeners.add(listener)
    return () => this.frameListeners.delete(listener)
  }

  /** Keyboard and buttons zoom about the play head. @param steps positive: closer */
  zoom(steps: number, anchorNs = this.clock.atNs): void {
    this.setView(zoomAbout(this.view, ZOOM_STEP ** -steps, anchorNs, this.session.units))
  }

  zoomBy(factor: number, anchorNs: number): void {
    this.setView(zoomAbout(this.view, factor, anchorNs, this.session.units))
  }

  pan(share: number): void {
    this.setView(panBy(this.view, share, this.session.units))
  }

  /** One of the four levels; the closer ones stop and go to the frame at or after the play head, so that there is one to see. */
  show(level: ZoomLevel): void {
    const { clock, session } = this
    if (level === 'session') {
      this.setView(viewOfLevel('session', 0, session.units))
      return
    }
    const ref = nearestFrame(session, this.laneNumber, clock.atNs)
    if (ref === undefined) return
    clock.pause()
    const { startNs, endNs } = session.lanes[ref.laneNumber].decoder.frame(ref.rank)
    if (clock.atNs < startNs || clock.atNs >= endNs) clock.seek(startNs)
    if (level === 'frame') {
      this.select(ref)
      this.fitFrame(startNs, endNs)
    } else this.setView(viewOfLevel(level, clock.atNs, this.unitsOf(ref)))
    this.set = { level, spanNs: this.view.spanNs }
    this.tell()
  }

  /** Chooses a frame to be explained; `go` moves the play head to its start. */
  select(ref: FrameRef | undefined, go = false): void {
    this.selected = ref
    if (ref !== undefined) this.laneNumber = ref.laneNumber
    if (ref !== undefined && go) this.clock.seek(this.session.lanes[ref.laneNumber].index.startNs[ref.rank])
    this.draw()
    this.tell()
  }

  stepFrame(by: 1 | -1): void {
    const near = nearestFrame(this.session, this.laneNumber, this.clock.atNs)
    if (near === undefined) return
    this.clock.pause()
    this.select(this.selected === undefined ? near : neighbour(this.session, this.selected, by), true)
  }

  hover(ref: FrameRef | undefined): void {
    if (ref?.rank === this.hovered?.rank && ref?.laneNumber === this.hovered?.laneNumber) return
    this.hovered = ref
    this.tell()
  }

  private unitsOf(ref: FrameRef | undefined) {
    const { units, lanes } = this.session
    const lane = ref === undefined ? undefined : lanes[ref.laneNumber]
    return lane === undefined
      ? units
      : { ...units, bitNs: lane.index.bitNs, bitsPerCharacter: lane.lane.bitsPerCharacter }
  }

  private fitFrame(startNs: number, endNs: number): void {
    const spanNs = Math.max((endNs - startNs) / FRAME_SHARE, this.session.units.bitNs * 4)
    this.setView({ fromNs: startNs - spanNs * ((1 - FRAME_SHARE) / 2), spanNs })
  }

  private setView(view: Viewport): void {
    this.view = clampView(view, this.session.units)
    this.draw()
    this.tell()
  }

  private draw(): void {
    for (const listener of this.frameListeners) listener()
  }

  private tell(): void {
    this.shown = this.look()
    for (const listener of this.listeners) listener()
  }

  private look(): TimeLineView {
    const { view, selected, hovered, set } = this
    const whole = view.spanNs >= widestSpan(this.session.units) * 0.999
    const level = whole ? 'session' : set?.spanNs === view.spanNs ? set.level : undefined
    return { level, spanNs: view.spanNs, selected, hovered }
  }
}
