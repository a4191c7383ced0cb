import compare from 'semver/functions/compare.js'
import parse from 'semver/functions/parse.js'
import { isKnown, type Known } from './units.ts'

/** Versions held against each other: Semantic Versioning 2.0.0; items 9 to 11 for pre-releases, build and order. */

/** Whether what a receiver says of its firmware shows that it runs the version of an image. */
export type VersionShown =
  | { readonly is: 'shown' | 'other' }
  /** It says too little for that; why, as a sentence. */
  | { readonly is: 'cannot-say'; readonly why: string }

/** `v2.3.0-rc1`, also with two numbers or four, and with leading zeros, as receivers say them. */
const SAID = /^v?(\d{1,9}(?:\.\d{1,9}){1,3})((?:[-+][0-9A-Za-z.+-]*)?)$/i

/**
 * @param said as the receiver says it
 * @param stated of the image, as `versionSchema` has it
 * @param carries what its protocol can say: numbers alone, or text that may have a pre-release in it
 */
export function versionShown(said: string, stated: string, carries: 'numbers' | 'text'): VersionShown {
  const wanted = parse(stated)
  const [, written, tail = ''] = SAID.exec(said.trim()) ?? []
  if (wanted === null || written === undefined)
    return said.trim() === stated ? { is: 'shown' } : tooLittle(said, stated)
  const numbers = written.split('.').map(Number)
  const three = [wanted.major, wanted.minor, wanted.patch]
  if (three.some((number, i) => i < numbers.length && numbers[i] !== number)) return { is: 'other' }
  // A maker that writes two numbers means that the third is 0; a fourth one stands in no version of an image.
  if (three.some((number, i) => i >= numbers.length && number !== 0) || numbers.slice(3).some(n => n !== 0))
    return tooLittle(said, stated)
  if (carries === 'numbers' && wanted.prerelease.length > 0)
    return {
      is: 'cannot-say',
      why: `The receiver says ${said}. It can say numbers only, and cannot show that it runs ${stated} and no other ${three.join('.')}.`,
    }
  const heard = parse(`${three.join('.')}${tail}`)
  if (heard === null) return tooLittle(said, stated)
  return { is: heard.compare(wanted) === 0 ? 'shown' : 'other' }
}

const tooLittle = (said: string, stated: string): VersionShown => ({
  is: 'cannot-say',
  why: `The receiver says “${said}”, which does not tell whether it runs ${stated}.`,
})

/** Whether a file may be of this version, by the three numbers that stand inside it; of an unknown one it may. */
export const statesVersion = (inside: string, stated: Known<string>): boolean =>
  !isKnown(stated) || versionShown(inside, stated, 'numbers').is !== 'other'

/** Build metadata does not count (item 10). @param a @param b as `versionSchema` has them */
export const sameVersion = (a: string, b: string): boolean => a === b || compare(a, b) === 0
