import SemVer from 'semver/classes/semver.js'
import satisfies from 'semver/functions/satisfies.js'
import { isKnown, type Known } from '../model/units.ts'
import type { ImageFacts } from './situation.ts'

/**
 * The line of versions of one type of receiver: what came after what, and which versions have to be stepped on along
 * the way, because an image asks for firmware that the receiver does not run yet.
 */
export interface LineImage {
  readonly id: string
  readonly version: Known<string>
  readonly sequenceNumber: Known<number>
  readonly generation: Known<number>
  readonly convertsFrom: number | undefined
  /** Semver range of the firmware that the receiver must run before; RFC 9124, required image version list. */
  readonly receiverFirmware: string | undefined
}

/** What a receiver runs, as far as it is known. */
export interface Standing {
  readonly firmware: Known<string>
  readonly generation: Known<number>
}

export type Path =
  | { readonly ok: true; readonly steps: readonly LineImage[] }
  | { readonly ok: false; readonly why: string }

/** An image as the line sees it. */
export const lineImageOf = (id: string, facts: ImageFacts): LineImage => ({
  id,
  version: facts.version,
  sequenceNumber: facts.sequenceNumber,
  generation: facts.generation,
  convertsFrom: facts.convertsFrom,
  receiverFirmware: facts.receiverFirmware,
})

interface Placed {
  readonly image: LineImage
  readonly version: SemVer | undefined
}

function order(a: Placed, b: Placed): number {
  if (a.version !== undefined && b.version !== undefined) {
    const byVersion = a.version.compare(b.version)
    if (byVersion !== 0) return byVersion
  }
  const [left, right] = [a.image.sequenceNumber, b.image.sequenceNumber]
  if (isKnown(left) && isKnown(right) && left !== right) return left - right
  const known = Number(a.version !== undefined) - Number(b.version !== undefined)
  return known !== 0 ? known : a.image.id < b.image.id ? -1 : a.image.id > b.image.id ? 1 : 0
}

/** The images of one type from the oldest to the newest; those without a version come first. */
export function versionLine(images: readonly LineImage[]): LineImage[] {
  // Reading a version takes longer than comparing two.
  const placed = images.map(image => ({
    image,
    version: isKnown(image.version) ? new SemVer(image.version) : undefined,
  }))
  return placed.sort(order).map(p => p.image)
}

export type Goes = 'yes' | 'no' | 'unknown'

/** Does the receiver run what the image has to find there? RFC 9124, required image version list. */
export function goesOn(receiverFirmware: string | undefined, runs: Known<string>): Goes {
  if (receiverFirmware === undefined) return 'yes'
  if (!isKnown(runs)) return 'unknown'
  return satisfies(runs, receiverFirmware, { includePrerelease: true }) ? 'yes' : 'no'
}

/** Does the image leave the receiver in its generation, or convert it from that one? */
export function changesGeneration(
  image: Pick<LineImage, 'generation' | 'convertsFrom'>,
  now: Known<number>,
): 'stays' | 'converts' | 'cannot' | 'unknown' {
  if (!isKnown(image.generation) || !isKnown(now)) return 'unknown'
  if (image.generation === now) return 'stays'
  return image.convertsFrom === now ? 'converts' : 'cannot'
}

/**
 * May this image follow on what stands there? What is not known does not let it.
 * @returns undefined when it may, otherwise why not
 */
export function whyNotNext(image: LineImage, standing: Standing): string | undefined {
  const { receiverFirmware, convertsFrom } = image
  const goes = goesOn(receiverFirmware, standing.firmware)
  if (goes === 'unknown')
    return `it needs firmware ${receiverFirmware}, and what the receiver runs is not known`
  if (goes === 'no')
    return `it needs firmware ${receiverFirmware}, and the receiver runs ${standing.firmware}`
  const change = changesGeneration(image, standing.generation)
  if (change === 'stays' || change === 'converts') return undefined
  const isOf = isKnown(standing.generation)
    ? `generation ${standing.generation}`
    : 'of a generation that is not known'
  if (convertsFrom !== undefined)
    return `it converts from generation ${convertsFrom}, and the receiver is ${isOf}`
  return isKnown(image.generation)
    ? `it is for generation ${image.generation}, and the receiver is ${isOf}`
    : 'it does not say for which generation it is'
}

const after = (image: LineImage, standing: Standing): Standing => ({
  firmware: image.version,
  generation: isKnown(image.generation) ? image.generation : standing.generation,
})

/** The search for a way tries images against images; of a longer line the newest are looked at. */
const MOST_SEARCHED = 200

/**
 * Enough images to find a way by: of those that are the same to the search the newest.
 * @param line from the oldest to the newest
 */
export function forSearch(line: readonly LineImage[]): LineImage[] {
  const seen = new Set<string>()
  return [...line]
    .reverse()
    .filter(image => {
      const sort = `${image.version}|${image.generation}|${image.convertsFrom}|${image.receiverFirmware}`
      if (seen.has(sort)) return false
      seen.add(sort)
      return true
    })
    .slice(0, MOST_SEARCHED)
}

const keyOf = (s: Standing) => `${s.firmware}|${s.generation}`

/**
 * The shortest way from what a receiver runs to an image, found breadth first; of ways of equal length the one over
 * the newest images.
 * @returns the images to install in order, the last one the target; or why there is no way
 */
export function pathTo(target: LineImage, standing: Standing, images: readonly LineImage[]): Path {
  const newestFirst = versionLine(images).reverse()
  const seen = new Set([keyOf(standing)])
  let level: { at: Standing; steps: readonly LineImage[] }[] = [{ at: standing, steps: [] }]
  while (level.length > 0) {
    const next: typeof level = []
    for (const { at, steps } of level) {
      if (whyNotNext(target, at) === undefined) return { ok: true, steps: [...steps, target] }
      for (const image of newestFirst) {
        if (image.id === target.id || whyNotNext(image, at) !== undefined) continue
        const then = after(image, at)
        if (seen.has(keyOf(then))) continue
        seen.add(keyOf(then))
        next.push({ at: then, steps: [...steps, image] })
      }
    }
    level = next
  }
  const direct = whyNotNext(target, standing)
  return { ok: false, why: `There is no way to this image with the images at hand: ${direct}.` }
}
