import { bandSchema, type Known, type Region, UNKNOWN, versionSchema } from '../model/units.ts'
import { fold } from './unit-fields.ts'

/** Reading single cells of a table. A word that means nothing here stays "not known", and that is said. */

export interface CellRead<T> {
  readonly value: T
  /** What a person should know about how the cell was taken. */
  readonly remark?: string
}

/** What people write for "I do not know". */
const OPEN = /^(\?+|-+|–|unknown|not known|n\/?a|none|tbd)?$/i

export const isOpenCell = (cell: string): boolean => OPEN.test(cell.trim())

const notKnown = (cell: string, expected: string): CellRead<typeof UNKNOWN> => ({
  value: UNKNOWN,
  remark: `“${cell}” is not ${expected}, so it stays not known`,
})

/** `2.3.1`, also `v2.3.1`; `2.3` and `02.03.00` are taken for 2.3.0, which is said. */
export function readVersion(cell: string): CellRead<Known<string>> {
  if (isOpenCell(cell)) return { value: UNKNOWN }
  const plain = cell.replace(/^(v|version|fw)\.?\s*/i, '')
  if (versionSchema.safeParse(plain).success) return { value: plain }
  const [, numbers, tail = ''] = /^(\d{1,9}(?:\.\d{1,9}){1,2})(-.*)?$/.exec(plain) ?? []
  const [major, minor, patch = 0] = numbers?.split('.').map(Number) ?? []
  const whole = `${major}.${minor}.${patch}${tail}`
  if (versionSchema.safeParse(whole).success)
    return { value: whole, remark: `“${cell}” is taken for ${whole}` }
  return notKnown(cell, 'a version such as 2.3.1')
}

const REGIONS: Readonly<Record<string, Region>> = {
  lbt: 'lbt',
  'listen before talk': 'lbt',
  etsi: 'lbt',
  eu: 'lbt',
  'eu lbt': 'lbt',
  europe: 'lbt',
  hopping: 'hopping',
  'hopping without listening': 'hopping',
  fcc: 'hopping',
  us: 'hopping',
  usa: 'hopping',
}

/** `lbt` or `hopping`; also the rule books that ask for one or the other (ETSI EN 300 328, 47 CFR 15.247). */
export function readRegion(cell: string): CellRead<Known<Region>> {
  if (isOpenCell(cell)) return { value: UNKNOWN }
  const said = fold(cell)
  const value = Object.hasOwn(REGIONS, said) ? REGIONS[said] : undefined
  if (value === undefined) return notKnown(cell, '“listen-before-talk” or “hopping”')
  const isPlain = said.startsWith('listen') || said.startsWith('hopping') || said === 'lbt'
  const words = value === 'lbt' ? 'listen-before-talk' : 'hopping without listening'
  return isPlain ? { value } : { value, remark: `“${cell}” is taken for ${words}` }
}

export function readGeneration(cell: string): CellRead<Known<number>> {
  if (isOpenCell(cell)) return { value: UNKNOWN }
  const digit = /^(?:g|gen|generation)?\.?\s*([1-9])(?:[.,]0+)?$/i.exec(cell)?.[1]
  return digit === undefined ? notKnown(cell, 'a generation from 1 to 9') : { value: Number(digit) }
}

export function readBand(cell: string): CellRead<Known<(typeof bandSchema)['options'][number]>> {
  if (isOpenCell(cell)) return { value: UNKNOWN }
  const digits = cell.replace(',', '.').replace(/[^\d.]/g, '')
  const band = bandSchema.options.find(option => option.replace(/[^\d.]/g, '') === digits)
  return band === undefined ? notKnown(cell, 'a band: 2.4 GHz, 868 MHz or 915 MHz') : { value: band }
}

const YES = /^(yes|y|x|true|1|on|✓|✔)$/i
const NO = /^(no|n|false|0|off)$/i

export function readYesNo(cell: string): CellRead<boolean | undefined> {
  if (YES.test(cell)) return { value: true }
  if (NO.test(cell) || isOpenCell(cell)) return { value: NO.test(cell) ? false : undefined }
  return { value: undefined, remark: `“${cell}” is neither yes nor no, so it is left out` }
}

/** A number with a decimal point or comma, with or without its unit behind it. */
export function readDecimal(cell: string): CellRead<number | undefined> {
  if (isOpenCell(cell)) return { value: undefined }
  const plain = /^(-?\d+)(?:[.,](\d+))?\s*[a-zA-Z%Ω]*$/.exec(cell.trim())
  if (plain === null) return { value: undefined, remark: `“${cell}” is not a number, so it is left out` }
  return { value: Number(`${plain[1]}.${plain[2] ?? '0'}`) }
}

interface Named {
  readonly id: string
  readonly nickname?: string
  readonly name?: string
  readonly maker?: string
}

/**
 * The entry of a list that a cell names: by id or by what people call it, whole or, where only one entry begins or
 * ends so, in part.
 */
export function findNamed<E extends Named>(list: readonly E[], cell: string): E | undefined {
  const said = fold(cell)
  if (said === '') return undefined
  const wordsOf = (entry: Named) =>
    [entry.id, entry.nickname, entry.name, entry.maker && `${entry.maker} ${entry.name}`].map(word =>
      fold(word ?? ''),
    )
  const whole = list.filter(entry => wordsOf(entry).includes(said))
  if (whole.length > 0) return whole.length === 1 ? whole[0] : undefined
  const part = list.filter(entry => wordsOf(entry).some(word => ` ${word} `.includes(` ${said} `)))
  return part.length === 1 ? part[0] : undefined
}

/** Names near to what was written, for the remedy. */
export const someNames = (list: readonly Named[], most = 4): string => {
  const names = list
    .slice(0, most)
    .map(e => e.nickname ?? (e.maker ? `${e.maker} ${e.name}` : (e.name ?? e.id)))
  return `${names.join(', ')}${list.length > most ? ` and ${list.length - most} more` : ''}`
}
