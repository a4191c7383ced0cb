import type { Problem } from '../model/problem.ts'

/**
 * File names on memory cards, so that one is good on FAT32, exFAT, Windows, macOS and Linux alike.
 * Sources: Microsoft's FAT and exFAT specifications and "Naming Files, Paths, and Namespaces".
 */

/** Longest long name, in UTF-16 units; a character outside the basic plane takes two. */
export const MAX_NAME_UNITS = 255
/** Longest classic Windows path: drive, colon, backslash, path and the closing NUL. */
export const MAX_WINDOWS_PATH_UNITS = 260
/** What of it is left for a path on the card, below `E:\`. */
export const MAX_PATH_UNITS = MAX_WINDOWS_PATH_UNITS - 'E:\\'.length - 1

/** Refused in long names on FAT and exFAT. */
const REFUSED = /["*/:<>?\\|]/
const REFUSED_ALL = /["*/:<>?\\|]/g
/** No `\0` range in a literal: control characters in patterns are refused by lint, and rightly. */
const isControl = (character: string): boolean => character.charCodeAt(0) < 0x20
/** Half of a surrogate pair on its own: no card can say what it is. */
const LONE_SURROGATE = /[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/

/** Kept by Windows for devices, in any case, with or without an ending. */
const DEVICE = /^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[1-9\u00b9\u00b2\u00b3])$/i

/** What is wrong with a name, and one that would do in its place. */
export interface NameProblem extends Problem {
  readonly suggestion?: string
}

const unitsOf = (text: string): number => text.length

/** Whether Windows would take the name for a device: `con`, `COM1.bin`, `nul .txt`. */
export const isDeviceName = (name: string): boolean => DEVICE.test(name.split('.')[0].trimEnd())

/**
 * Every rule that one file or folder name breaks.
 * @returns problems `name.empty`, `name.dots`, `name.too-long`, `name.characters`, `name.trailing`, `name.reserved`,
 * each with a suggestion where there is one; none for a name that is good everywhere
 */
export function checkName(name: string): readonly NameProblem[] {
  if (name === '')
    return [{ code: 'name.empty', message: 'The name is empty.', remedy: 'Give it a name of a few letters.' }]
  const said: { code: string; message: string; expected?: string }[] = []
  if (name === '.' || name === '..')
    said.push({
      code: 'name.dots',
      message: `"${name}" stands for a folder itself and cannot be a name.`,
    })
  if (unitsOf(name) > MAX_NAME_UNITS)
    said.push({
      code: 'name.too-long',
      message: `The name has ${unitsOf(name)} characters (those outside the common alphabets count twice).`,
      expected: `at most ${MAX_NAME_UNITS}`,
    })
  const refused = refusedIn(name)
  if (refused !== undefined) said.push({ code: 'name.characters', message: refused })
  if (said[0]?.code !== 'name.dots' && /[. ]$/.test(name))
    said.push({
      code: 'name.trailing',
      message: `"${show(name)}" ends in a dot or a space, which Windows leaves off: it would be another file there.`,
    })
  if (isDeviceName(name))
    said.push({
      code: 'name.reserved',
      message: `"${show(name)}" is a name that Windows keeps for a device, with any ending.`,
    })
  if (said.length === 0) return []
  const suggestion = suggestName(name)
  const remedy =
    suggestion === undefined ? 'Choose another name.' : `Use "${show(suggestion)}", or another name.`
  return said.map(problem => ({ ...problem, field: 'name', remedy, suggestion }))
}

/** Names can be very long; a message shows their start. */
const show = (name: string): string => {
  const shown = [...name].slice(0, 60).join('')
  return shown === name ? name : `${shown}...`
}

function refusedIn(name: string): string | undefined {
  const character = REFUSED.exec(name)?.[0]
  if (character !== undefined) return `The name contains ${character}, which memory cards refuse.`
  if ([...name].some(isControl)) return 'The name contains an invisible control character.'
  if (LONE_SURROGATE.test(name)) return 'The name contains half a character.'
  return undefined
}

/**
 * A good name as near to this one as can be.
 * @returns undefined where nothing of the name is left
 */
export function suggestName(name: string): string | undefined {
  let good = [...name]
    .map(character => (isControl(character) || LONE_SURROGATE.test(character) ? '-' : character))
    .join('')
    .replaceAll(REFUSED_ALL, '-')
  good = shorten(good, MAX_NAME_UNITS).replace(/[. ]+$/, '')
  if (isDeviceName(good)) {
    const [stem, ...endings] = good.split('.')
    good = shorten([`${stem.trimEnd()}-file`, ...endings].join('.'), MAX_NAME_UNITS).replace(/[. ]+$/, '')
  }
  return good.replaceAll('-', '') === '' || good === name ? undefined : good
}

/** Cuts the stem and keeps a short ending, never in the middle of a character. */
function shorten(name: string, mostUnits: number): string {
  if (unitsOf(name) <= mostUnits) return name
  const dot = name.lastIndexOf('.')
  const ending = dot > 0 && name.length - dot <= 16 ? name.slice(dot) : ''
  return cutUnits(name.slice(0, name.length - ending.length), mostUnits - ending.length) + ending
}

/** The first `mostUnits` UTF-16 units, less one where that would halve a character. */
export function cutUnits(text: string, mostUnits: number): string {
  const cut = text.slice(0, Math.max(0, mostUnits))
  return /[\ud800-\udbff]$/.test(cut) && /^[\udc00-\udfff]/.test(text.slice(cut.length))
    ? cut.slice(0, -1)
    : cut
}

/** The names of a path on a card, from its top; a stroke in front does not count. */
export const namesOf = (path: string): readonly string[] => path.replace(/^\/+/, '').split('/')

/**
 * Every rule that a path on a card breaks; names are parted by `/`.
 * @returns the problems of its names, and `path.too-long`
 */
export function checkCardPath(path: string): readonly NameProblem[] {
  const names = namesOf(path)
  const problems = names.flatMap(checkName)
  const units = unitsOf(names.join('/'))
  if (units <= MAX_PATH_UNITS) return problems
  return [
    ...problems,
    {
      code: 'path.too-long',
      field: 'path',
      message: `The path has ${units} characters; with the drive letter, Windows could not open it.`,
      expected: `at most ${MAX_PATH_UNITS}`,
      remedy: 'Use fewer folders or shorter names.',
    },
  ]
}

/**
 * A name as a card compares it: without case, unit by unit, and without the dots and spaces at the end that Windows
 * leaves off. Accents are joined to their letters, as macOS does before it writes.
 */
export function foldName(name: string): string {
  const units = name.normalize('NFC').replace(/[. ]+$/, '')
  let folded = ''
  for (const unit of units) {
    const upper = unit.toUpperCase()
    folded += upper.length === unit.length ? upper : unit
  }
  return folded
}

/** Do two names mean one file on a card? */
export const sameName = (a: string, b: string): boolean => foldName(a) === foldName(b)

/** A whole path as a card compares it. */
export const foldPath = (path: string): string => namesOf(path).map(foldName).join('/')

/**
 * Names of one folder that a card takes for the same file.
 * @returns `name.collision` for each pair of different spellings
 */
export function collisionsAmong(names: readonly string[]): readonly NameProblem[] {
  const seen = new Map<string, string>()
  const problems: NameProblem[] = []
  for (const name of names) {
    const folded = foldName(name)
    const other = seen.get(folded)
    if (other === undefined) seen.set(folded, name)
    else problems.push(collision(name, other))
  }
  return problems
}

/** That `name` cannot stand beside `other`. */
export const collision = (name: string, other: string): NameProblem => ({
  code: 'name.collision',
  field: 'name',
  message:
    name === other
      ? `"${show(name)}" is there twice.`
      : `"${show(name)}" and "${show(other)}" are the same file to a card, which does not tell capitals from small letters.`,
  remedy: `Rename or remove "${show(other)}", or use another folder.`,
})
