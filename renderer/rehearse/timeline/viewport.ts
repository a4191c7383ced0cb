/** The part of the session that the time line shows. */
export interface Viewport {
  readonly fromNs: number
  readonly spanNs: number
}

/** What the four zoom buttons show: this many of them across the screen. */
export interface ZoomUnits {
  readonly endNs: number
  readonly bitNs: number
  readonly bitsPerCharacter: number
  /** A usual frame of this session. */
  readonly frameNs: number
}
export const ZOOM_LEVELS = ['session', 'frame', 'octet', 'bit'] as const
export type ZoomLevel = (typeof ZOOM_LEVELS)[number]

/** Time on either side of the session, so that its ends do not stick to the edges. */
const MARGIN = 0.01
/** Where the play head stands on the screen while the view follows it. */
export const HEAD_AT = 0.4
/** The closest view is one bit and half of each neighbour. */
const CLOSEST_BITS = 2

export const widestSpan = (units: Pick<ZoomUnits, 'endNs'>): number =>
  Math.max(1, units.endNs) * (1 + 2 * MARGIN)
export const closestSpan = (units: Pick<ZoomUnits, 'bitNs'>): number => units.bitNs * CLOSEST_BITS

/** The nearest allowed view: neither wider than the session nor closer than one bit, and not beyond the ends. */
export function clampView(view: Viewport, units: ZoomUnits): Viewport {
  const widest = widestSpan(units)
  const spanNs = Math.min(widest, Math.max(Math.min(widest, closestSpan(units)), view.spanNs))
  const whole = spanNs >= widest
  const leastNs = whole ? -units.endNs * MARGIN : -spanNs * HEAD_AT
  const mostNs = whole ? leastNs : units.endNs - spanNs * HEAD_AT
  return { fromNs: Math.min(mostNs, Math.max(leastNs, view.fromNs)), spanNs }
}

/**
 * Zooms about a moment that stays where it is on the screen.
 * @param factor below 1 shows less time, above 1 more
 */
export function zoomAbout(view: Viewport, factor: number, anchorNs: number, units: ZoomUnits): Viewport {
  const widest = widestSpan(units)
  const spanNs = Math.min(widest, Math.max(closestSpan(units), view.spanNs * factor))
  const share = (anchorNs - view.fromNs) / view.spanNs
  return clampView({ fromNs: anchorNs - share * spanNs, spanNs }, units)
}

/** Moves the view by a share of its width. */
export const panBy = (view: Viewport, share: number, units: ZoomUnits): Viewport =>
  clampView({ fromNs: view.fromNs + share * view.spanNs, spanNs: view.spanNs }, units)

const spanOf: Readonly<Record<ZoomLevel, (units: ZoomUnits) => number>> = {
  session: widestSpan,
  frame: units => units.frameNs * 1.25,
  octet: units => units.bitNs * units.bitsPerCharacter * 1.5,
  bit: closestSpan,
}

/** The view of one of the four levels, with this moment at its place under the play head. */
export function viewOfLevel(level: ZoomLevel, aroundNs: number, units: ZoomUnits): Viewport {
  const spanNs = spanOf[level](units)
  return clampView({ fromNs: aroundNs - spanNs * HEAD_AT, spanNs }, units)
}

/** The level whose span is nearest, for the pressed state of the buttons; undefined in between. */
export function levelOfView(view: Viewport, units: ZoomUnits): ZoomLevel | undefined {
  return ZOOM_LEVELS.find(level => Math.abs(Math.log(view.spanNs / spanOf[level](units))) < 0.05)
}

/** The view moved along with the play head; a view of the whole session stands still. */
export function follow(view: Viewport, headNs: number, units: ZoomUnits): Viewport {
  if (view.spanNs >= widestSpan(units) * 0.999) return view
  return clampView({ fromNs: headNs - view.spanNs * HEAD_AT, spanNs: view.spanNs }, units)
}

export const xOf = (view: Viewport, width: number, atNs: number): number =>
  ((atNs - view.fromNs) / view.spanNs) * width
export const nsAt = (view: Viewport, width: number, x: number): number =>
  view.fromNs + (x / width) * view.spanNs

/** Marks of a time axis at 1, 2 or 5 times a power of ten, `most` of them at most. */
export function ticksOf(
  view: Viewport,
  most: number,
): { readonly stepNs: number; readonly atNs: readonly number[] } {
  const least = view.spanNs / Math.max(1, most)
  const power = 10 ** Math.floor(Math.log10(least))
  const stepNs = [1, 2, 5, 10].map(times => times * power).find(step => step >= least) ?? power * 10
  const first = Math.max(0, Math.ceil(view.fromNs / stepNs))
  const last = Math.floor((view.fromNs + view.spanNs) / stepNs)
  return {
    stepNs,
    atNs: Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * stepNs),
  }
}

const UNITS = [
  { ns: 1e9, name: 's' },
  { ns: 1e6, name: 'ms' },
  { ns: 1e3, name: 'µs' },
  { ns: 1, name: 'ns' },
] as const

/** A span in words of at most three or four figures: `86.8 µs`, `12.4 s`. */
export function saySpan(ns: number): string {
  const unit = UNITS.find(u => Math.abs(ns) >= u.ns * 0.9995) ?? UNITS[3]
  const value = ns / unit.ns
  const digits = Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 10 ? 1 : 2
  return `${value.toFixed(unit.ns === 1 ? 0 : digits)} ${unit.name}`
}

/** A moment with as many places as the step between marks needs: `12.004 s`. */
export function sayMoment(ns: number, stepNs = 1e6): string {
  const digits = Math.min(9, Math.max(0, Math.ceil(-Math.log10(stepNs / 1e9) - 1e-9)))
  return `${(ns / 1e9).toFixed(digits)} s`
}

/** Minutes and seconds with tenths, for the transport: `0:12.4`. */
export function sayClock(ns: number): string {
  const tenths = Math.floor(ns / 1e8 + 1e-6)
  const minutes = Math.floor(tenths / 600)
  const seconds = (tenths - minutes * 600) / 10
  return `${minutes}:${seconds.toFixed(1).padStart(4, '0')}`
}
