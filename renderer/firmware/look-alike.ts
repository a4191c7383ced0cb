import compare from 'semver/functions/compare.js'
import { isKnown, type Known, regionWords } from '../../shared/model/units.ts'
import type { Listed } from './listed.ts'

/** Images that one might take for one another, and what tells them apart. */

/** More than these are no warning any more but a list. */
export const MOST_ALIKE = 3
const MOST_STEPS = 2

/** Signs that are read for one another in many typefaces, brought to one of them. */
const asSeen = (text: string): string =>
  text
    .toLowerCase()
    .replaceAll(/[\s_.,-]+/g, ' ')
    .replaceAll('rn', 'm')
    .replaceAll(/[o]/g, '0')
    .replaceAll(/[il|]/g, '1')
    .trim()

/**
 * Signs to insert, drop, change, or swap with their neighbour, to get from one text to the other (optimal string
 * alignment distance).
 * @param most the search ends as soon as it takes more; then `most + 1` is returned
 */
export function stepsBetween(a: string, b: string, most: number): number {
  if (Math.abs(a.length - b.length) > most) return most + 1
  let before: number[] = []
  let row = Array.from({ length: b.length + 1 }, (_, j) => j)
  for (let i = 1; i <= a.length; i++) {
    const next = [i]
    for (let j = 1; j <= b.length; j++) {
      const change = row[j - 1] + Number(a[i - 1] !== b[j - 1])
      const isSwap = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]
      const swap = isSwap ? before[j - 2] + 1 : change
      next[j] = Math.min(change, swap, row[j] + 1, next[j - 1] + 1)
    }
    if (Math.min(...next) > most) return most + 1
    before = row
    row = next
  }
  return Math.min(row[b.length], most + 1)
}

/** How near two images are to being taken for one another; the smaller the nearer, undefined where they are not. */
export function nearness(a: Listed, b: Listed): number | undefined {
  const names = stepsBetween(asSeen(a.name), asSeen(b.name), MOST_STEPS)
  const { typeId, version } = a.facts
  const sameType = isKnown(typeId) && typeId === b.facts.typeId && isKnown(version)
  const versions = stepsBetween(version, b.facts.version, 1)
  if (sameType && versions <= 1) return Math.min(names, versions)
  return names <= MOST_STEPS ? names : undefined
}

/** What is the same program but for what does not matter is said elsewhere; to take one for the other does no harm. */
const isSameProgram = (a: Listed, b: Listed): boolean =>
  a.entry?.alike?.some(({ id }) => id === b.entry?.id) ?? false

/**
 * What could be taken for this image, the most alike first, those of other content only.
 * @param digestOf is asked for the nearest only: an image that the bench builds has to be built for it
 */
export function lookAlikes(
  chosen: Listed,
  all: readonly Listed[],
  digestOf: (one: Listed) => string | undefined,
): Listed[] {
  const near = all
    .filter(other => other.key !== chosen.key && !isSameProgram(chosen, other))
    .flatMap(other => {
      const steps = nearness(chosen, other)
      return steps === undefined ? [] : [{ other, steps }]
    })
    .sort((a, b) => a.steps - b.steps || (a.other.key < b.other.key ? -1 : 1))
  const digest = digestOf(chosen)
  const found: Listed[] = []
  for (const { other } of near) {
    if (found.length >= MOST_ALIKE) break
    if (digest === undefined || digestOf(other) !== digest) found.push(other)
  }
  return found
}

export const regionWord = (region: Known<string> | 'any'): string =>
  region === 'any' ? 'any region' : (regionWords[region as keyof typeof regionWords] ?? region)
export const listWord = (values: Known<readonly string[]> | 'any'): string =>
  values === 'any' ? 'any' : Array.isArray(values) ? values.join(', ') : 'not known'
export const yesNoWord = (value: Known<boolean>): string =>
  value === true ? 'yes' : value === false ? 'no' : 'not known'
const plain = (value: Known<string | number> | undefined): string =>
  value === undefined || value === 'unknown' ? 'not known' : String(value)

/** In which respects the two differ, in words, the weightiest first; the length only where nothing else does. */
export function differences(a: Listed, b: Listed): string[] {
  const said: string[] = []
  const tell = (what: string, here: string, there: string) => {
    if (here !== there) said.push(`${what}: ${here} here, ${there} there.`)
  }
  tell('The type', a.typeName, b.typeName)
  const [here, there] = [a.facts.version, b.facts.version]
  if (here !== there && here !== 'unknown' && there !== 'unknown') {
    const order = compare(there, here)
    said.push(
      `The version: ${here} here, ${there} there${order === 0 ? '' : order < 0 ? ', which is older' : ', which is newer'}.`,
    )
  } else tell('The version', plain(here), plain(there))
  tell('The generation', plain(a.facts.generation), plain(b.facts.generation))
  tell('It converts from generation', plain(a.facts.convertsFrom), plain(b.facts.convertsFrom))
  tell('How the air is shared', regionWord(a.facts.region), regionWord(b.facts.region))
  tell('The bands', listWord(a.facts.bands), listWord(b.facts.bands))
  tell('The hardware revisions', listWord(a.facts.hardwareRevisions), listWord(b.facts.hardwareRevisions))
  tell('May go by air', yesNoWord(a.facts.wirelessCapable), yesNoWord(b.facts.wirelessCapable))
  if (said.length > 0) return said
  const lengths = [a, b].map(one => one.facts.sizeBytes.toLocaleString('en'))
  tell('The length in octets', lengths[0], lengths[1])
  if (said.length === 0) said.push('They say the same of themselves, but their content is not the same.')
  return said
}

const partsOf = (text: string): string[] => text.split(/([\s.\-+]+)/)

/** A text in pieces, so that the words and numbers that the other one does not have can be made to stand out. */
export function standingOut(
  text: string,
  other: string,
): { readonly text: string; readonly differs: boolean }[] {
  const [parts, others] = [partsOf(text), partsOf(other)]
  if (parts.length !== others.length) return [{ text, differs: text !== other }]
  return parts
    .map((part, i) => ({ text: part, differs: part !== others[i] }))
    .filter(piece => piece.text !== '')
}
