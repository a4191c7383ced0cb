import type { Catalogue } from '../model/catalogue.ts'
import { type Difference, differences } from './differences.ts'
import {
  type EntryKey,
  entryName,
  keyOf,
  SHEET_KINDS,
  type SheetEntry,
  type SheetKind,
  type TypeSheet,
  withConnectors,
} from './type-sheet.ts'

/** A sheet held against a catalogue: what is new in it, what is the same, what fills a gap, what is in conflict. */

export type Standing = 'new' | 'same' | 'gap' | 'conflict'

export interface Compared {
  readonly key: EntryKey
  readonly name: string
  /** As the sheet has it. */
  readonly theirs: SheetEntry
  /** The entry of the bench that speaks of the same thing; undefined for what is new. */
  readonly mine: SheetEntry | undefined
  readonly standing: Standing
  readonly differences: readonly Difference[]
  /** The same id, but another maker and name: probably two things, so keeping both suggests itself. */
  readonly otherThing: boolean
}

/** What to do with one entry. An entry without a decision gets `usualDecision`. */
export type Decision =
  | { readonly take: 'nothing' }
  /** As an entry of its own: what is new, or both of a conflict. */
  | { readonly take: 'as-new' }
  /** Into the entry of the bench, these fields of it. */
  | { readonly take: 'fields'; readonly paths: readonly string[] }

export type Decisions = ReadonlyMap<string, Decision>

export const usualDecision = ({ standing, otherThing, differences }: Compared): Decision => {
  if (standing === 'new' || otherThing) return { take: 'as-new' }
  const gaps = differences.filter(({ how }) => how === 'gap').map(({ path }) => path)
  return gaps.length > 0 ? { take: 'fields', paths: gaps } : { take: 'nothing' }
}

export const decisionOf = (compared: Compared, decisions: Decisions): Decision =>
  decisions.get(keyOf(compared.key)) ?? usualDecision(compared)

/** Everything of theirs that says something; what they do not know is kept as it is. */
export const theirPaths = ({ differences }: Compared): string[] =>
  differences.filter(({ how }) => how !== 'theirs-unknown').map(({ path }) => path)

const fold = (text: string) => text.normalize('NFKC').toLowerCase().replace(/\s+/g, ' ').trim()

/** What makes two entries speak of the same thing where their ids differ. */
const same = (kind: SheetKind, entry: SheetEntry) => fold(entryName(kind, entry))

/** A pairing whose range is corrected is still the same one; a type of another name is not. */
function identity(kind: SheetKind, entry: SheetEntry): string {
  if (kind !== 'pairings') return same(kind, entry)
  const { family, generation } = entry as Catalogue['pairings'][number]
  return fold(`${family} ${generation}`)
}

/**
 * @param connectorIds ids of the sheet's connectors to the ids that they get on the bench, of those that are not taken
 * into the connector that speaks of the same thing
 */
function compareOne(
  kind: SheetKind,
  entry: SheetEntry,
  list: readonly SheetEntry[],
  connectorIds: ReadonlyMap<string, string>,
): Compared {
  const key = { kind, id: entry.id }
  const name = entryName(kind, entry)
  const byId = list.find(({ id }) => id === entry.id)
  const byName = list.filter(other => same(kind, other) === same(kind, entry))
  const mine = byId && (byName.includes(byId) || byName.length === 0) ? byId : byName[0]
  if (mine === undefined)
    return { key, name, theirs: entry, mine, standing: 'new', differences: [], otherThing: false }
  const found = differences(mine, withConnectors(kind, entry, connectorIds))
  const standing = found.some(({ how }) => how === 'conflict')
    ? 'conflict'
    : found.some(({ how }) => how === 'gap')
      ? 'gap'
      : 'same'
  const otherThing = standing === 'conflict' && identity(kind, mine) !== identity(kind, entry)
  return { key, name, theirs: entry, mine, standing, differences: found, otherThing }
}

/**
 * Every entry of the sheet held against the catalogue, connectors first. What is decided about a connector shows in the
 * types that name it: kept beside the other one, it is another connector.
 */
export function compareSheet(catalogue: Catalogue, sheet: TypeSheet, decisions: Decisions): Compared[] {
  const connectors = sheet.connectors.map(entry =>
    compareOne('connectors', entry, catalogue.connectors, new Map()),
  )
  const connectorIds = new Map(newIds(catalogue, connectors, decisions))
  for (const { key, mine } of connectors)
    if (!connectorIds.has(key.id) && mine) connectorIds.set(key.id, mine.id)
  return [
    ...connectors,
    ...SHEET_KINDS.filter(kind => kind !== 'connectors').flatMap(kind =>
      sheet[kind].map(entry => compareOne(kind, entry, catalogue[kind], connectorIds)),
    ),
  ]
}

/** Ids for the entries of one kind that are taken as new ones: their own where it is free, or one like it. */
export function newIds(
  catalogue: Catalogue,
  compared: readonly Compared[],
  decisions: Decisions,
): [string, string][] {
  const taken = new Map<SheetKind, Set<string>>()
  return compared
    .filter(one => decisionOf(one, decisions).take === 'as-new')
    .map(({ key: { kind, id } }) => {
      const used = taken.get(kind) ?? new Set(catalogue[kind].map(entry => entry.id))
      taken.set(kind, used)
      let free = id
      for (let n = 2; used.has(free); n++) free = `${id.slice(0, 58)}-${n}`
      used.add(free)
      return [id, free]
    })
}
