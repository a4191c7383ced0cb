import compare from 'semver/functions/compare.js'
import satisfies from 'semver/functions/satisfies.js'
import { isKnown, type Known } from '../model/units.ts'

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

function order(a: LineImage, b: LineImage): number {
  if (isKnown(a.version) && isKnown(b.version)) {
    const byVersion = compare(a.version, b.version)
    if (byVersion !== 0) return byVersion
  }
  if (isKnown(a.sequenceNumber) && isKnown(b.sequenceNumber) && a.sequenceNumber !== b.sequenceNumber)
    return a.sequenceNumber - b.sequenceNumber
  const known = Number(isKnown(a.version)) - Number(isKnown(b.version))
  return known !== 0 ? known : a.id < b.id ? -1 : a.id > b.id ? 1 : 0
}

/** The images of one type from the oldest to the newest; those without a version come first. */
export const versionLine = (images: readonly LineImage[]): LineImage[] => [...images].sort(order)

/**
 * May this image follow on what stands there? What is not known does not let it.
 * @returns undefined when it may, otherwise why not
 */
export function whyNotNext(image: LineImage, standing: Standing): string | undefined {
  const { receiverFirmware, convertsFrom } = image
  if (receiverFirmware !== undefined) {
    if (!isKnown(standing.firmware))
      return `it needs firmware ${receiverFirmware}, and what the receiver runs is not known`
    if (!satisfies(standing.firmware, receiverFirmware, { includePrerelease: true }))
      return `it needs firmware ${receiverFirmware}, and the receiver runs ${standing.firmware}`
  }
  if (convertsFrom !== undefined && standing.generation !== convertsFrom)
    return `it converts from generation ${convertsFrom}, and the receiver is ${isKnown(standing.generation) ? `generation ${standing.generation}` : 'of a generation that is not known'}`
  if (
    convertsFrom === undefined &&
    isKnown(image.generation) &&
    isKnown(standing.generation) &&
    image.generation !== standing.generation
  )
    return `it is for generation ${image.generation}, and the receiver is generation ${standing.generation}`
  return undefined
}

const after = (image: LineImage, standing: Standing): Standing => ({
  firmware: image.version,
  generation: isKnown(image.generation) ? image.generation : standing.generation,
})

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
