import compare from 'semver/functions/compare.js'
import {
  forSearch,
  type LineImage,
  type Path,
  pathTo,
  type Standing,
  versionLine,
} from '../../shared/fit/version-line.ts'
import { isKnown } from '../../shared/model/units.ts'

/** What the drawing of the version line shows: versions from the oldest to the newest, with what each one is. */

export interface Stop {
  /** The first image of this version; undefined where the receiver runs a version that there is no image of. */
  readonly imageId: string | undefined
  readonly version: string
  /** How many images of this version there are. */
  readonly images: number
  readonly generation: number | undefined
  readonly convertsFrom: number | undefined
  /** The version of firmware that has to be there before. */
  readonly needs: string | undefined
  readonly runsNow: boolean
  readonly chosen: boolean
  /** 1 for the first version on the way to the chosen one, the chosen one itself included; 0 for none. */
  readonly stepOnWay: number
}

export type LinePart = Stop | { readonly leftOut: number }
export const isGap = (part: LinePart): part is { readonly leftOut: number } => 'leftOut' in part

export interface Line {
  readonly parts: readonly LinePart[]
  /** The way to the chosen image, where one is chosen. */
  readonly path: Path | undefined
  /** True where the receiver's firmware is not known. */
  readonly runsUnknown: boolean
}

const MOST_SHOWN = 9

const sameStop = (a: LineImage, b: LineImage): boolean =>
  isKnown(a.version)
    ? a.version === b.version && a.generation === b.generation && a.convertsFrom === b.convertsFrom
    : a.id === b.id

/** Images of one version one after the other in the line are one stop of it. */
function groups(line: readonly LineImage[]): LineImage[][] {
  const found: LineImage[][] = []
  for (const image of line) {
    const last = found.at(-1)
    if (last && sameStop(last[0], image)) last.push(image)
    else found.push([image])
  }
  return found
}

function stopsOf(
  line: readonly LineImage[],
  standing: Standing,
  chosenId: string | undefined,
  path: Path | undefined,
) {
  const steps = path?.ok ? path.steps.map(step => step.id) : []
  const stops = groups(line).map((images): Stop => {
    const [first] = images
    const ids = images.map(image => image.id)
    return {
      imageId: chosenId !== undefined && ids.includes(chosenId) ? chosenId : first.id,
      version: isKnown(first.version) ? first.version : 'version not known',
      images: images.length,
      generation: isKnown(first.generation) ? first.generation : undefined,
      convertsFrom: first.convertsFrom,
      needs: first.receiverFirmware,
      runsNow: isKnown(first.version) && first.version === standing.firmware,
      chosen: chosenId !== undefined && ids.includes(chosenId),
      stepOnWay: 1 + steps.findIndex(id => ids.includes(id)),
    }
  })
  return isKnown(standing.firmware) && !stops.some(stop => stop.runsNow)
    ? withRunning(stops, standing.firmware, standing)
    : stops
}

/** A receiver may run a version that there is no image of. */
function withRunning(stops: readonly Stop[], version: string, standing: Standing): Stop[] {
  const stop: Stop = {
    imageId: undefined,
    version,
    images: 0,
    generation: isKnown(standing.generation) ? standing.generation : undefined,
    convertsFrom: undefined,
    needs: undefined,
    runsNow: true,
    chosen: false,
    stepOnWay: 0,
  }
  const isLater = (s: Stop) => /^\d/.test(s.version) && compare(s.version, version) > 0
  const at = stops.findIndex(isLater)
  return at < 0 ? [...stops, stop] : [...stops.slice(0, at), stop, ...stops.slice(at)]
}

/** Keeps the two ends and what matters with its neighbours; what is left out is counted. */
function shorten(stops: readonly Stop[]): LinePart[] {
  if (stops.length <= MOST_SHOWN) return [...stops]
  const last = stops.length - 1
  const weight = (stop: Stop, i: number): number => {
    if (stop.runsNow || stop.chosen || stop.stepOnWay > 0) return 0
    if (i === 0 || i === last) return 1
    const near = stops.slice(Math.max(0, i - 1), i + 2).some(s => s.runsNow || s.chosen)
    return near ? 2 : 3 + (last - i)
  }
  const kept = new Set(
    stops
      .map((stop, i) => ({ stop, weight: weight(stop, i) }))
      .sort((a, b) => a.weight - b.weight)
      .slice(0, MOST_SHOWN)
      .map(({ stop }) => stop),
  )
  const parts: LinePart[] = []
  for (const stop of stops) {
    const before = parts.at(-1)
    if (kept.has(stop)) parts.push(stop)
    else if (before && isGap(before)) parts[parts.length - 1] = { leftOut: before.leftOut + 1 }
    else parts.push({ leftOut: 1 })
  }
  return parts
}

/**
 * @param images those of the receiver's type
 * @param standing what the receiver runs
 */
export function lineOf(images: readonly LineImage[], standing: Standing, chosenId: string | undefined): Line {
  const line = versionLine(images)
  const chosen = images.find(image => image.id === chosenId)
  const path = chosen && pathTo(chosen, standing, forSearch(line))
  return {
    parts: shorten(stopsOf(line, standing, chosen?.id, path)),
    path,
    runsUnknown: !isKnown(standing.firmware),
  }
}

/** The way in one sentence. */
export function wayWords({ path }: Line, nameOf: (id: string) => string): string | undefined {
  if (path === undefined) return undefined
  if (!path.ok) return path.why
  const before = path.steps.slice(0, -1)
  if (before.length === 0) return 'The chosen image can go straight on what the receiver runs.'
  return `First ${before.map(step => nameOf(step.id)).join(', then ')}; after that the chosen image.`
}
