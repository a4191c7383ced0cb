import { problemsOfZod } from '../model/bench.ts'
import type { Catalogue } from '../model/catalogue.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import {
  connectorsOf,
  type EntryKey,
  entryName,
  keyOf,
  SHEET_KINDS,
  type SheetEntry,
  type SheetKind,
  type TypeSheet,
  typeSheetSchema,
} from './type-sheet.ts'

/** Who says so: the head of a sheet. The date is a day, `2026-11-25`; shared code has no clock. */
export interface SheetHead {
  readonly title: string
  readonly author?: string
  readonly date: string
  readonly note?: string
}

/** Every entry of a catalogue. */
export const allKeys = (catalogue: Catalogue): EntryKey[] =>
  SHEET_KINDS.flatMap(kind => catalogue[kind].map(({ id }) => ({ kind, id })))

const familyOf = (kind: SheetKind, entry: SheetEntry): string | undefined =>
  kind === 'moduleTypes' || kind === 'receiverTypes' ? (entry as { family: string }).family : undefined

/**
 * What has to go along with the chosen entries: the connectors that they name, and the pairings of their families,
 * without which nobody could tell which firmware works with which.
 * @returns keys that are not among the chosen ones
 */
export function goesAlong(catalogue: Catalogue, chosen: readonly EntryKey[]): EntryKey[] {
  const taken = new Set(chosen.map(keyOf))
  const entries = SHEET_KINDS.flatMap(kind =>
    (catalogue[kind] as readonly SheetEntry[])
      .filter(entry => taken.has(keyOf({ kind, id: entry.id })))
      .map(entry => ({ kind, entry })),
  )
  const connectors = new Set(
    entries.flatMap(({ kind, entry }) => connectorsOf(kind, entry).map(({ id }) => id)),
  )
  const families = new Set(entries.flatMap(({ kind, entry }) => familyOf(kind, entry) ?? []))
  return [
    ...catalogue.connectors
      .filter(c => connectors.has(c.id))
      .map(({ id }) => ({ kind: 'connectors' as const, id })),
    ...catalogue.pairings
      .filter(p => families.has(p.family))
      .map(({ id }) => ({ kind: 'pairings' as const, id })),
  ].filter(key => !taken.has(keyOf(key)))
}

/**
 * A sheet of the chosen entries and of what has to go along with them.
 * @returns problems where the head is not filled in, or where a radio type names a connector that is not there
 */
export function makeSheet(
  catalogue: Catalogue,
  chosen: readonly EntryKey[],
  head: SheetHead,
): Result<TypeSheet> {
  const keys = new Set([...chosen, ...goesAlong(catalogue, chosen)].map(keyOf))
  const pick = <K extends SheetKind>(kind: K): Catalogue[K] =>
    (catalogue[kind] as SheetEntry[]).filter(({ id }) => keys.has(keyOf({ kind, id }))) as Catalogue[K]
  const raw = {
    format: 'preflash-types',
    formatVersion: 1,
    ...head,
    radioTypes: pick('radioTypes'),
    moduleTypes: pick('moduleTypes'),
    receiverTypes: pick('receiverTypes'),
    connectors: pick('connectors'),
    pairings: pick('pairings'),
  }
  const read = typeSheetSchema.safeParse(raw)
  if (!read.success)
    return failed(
      ...problemsOfZod(read.error, 'sheet.field', undefined, raw).map(p => ({ ...p, remedy: undefined })),
    )
  const there = new Set(read.data.connectors.map(({ id }) => id))
  for (const kind of SHEET_KINDS)
    for (const entry of read.data[kind]) {
      const lost = connectorsOf(kind, entry).find(({ id }) => !there.has(id))
      if (lost !== undefined)
        return failed({
          code: 'sheet.reference',
          message: `${entryName(kind, entry)} names a connector that is not on this bench: "${lost.id}".`,
          remedy: 'Open the type and choose its connector first.',
        })
    }
  return succeeded(read.data)
}

/** The sheet as the text of a file: stable key order, one line a field, so that people can read and compare it. */
export const writeSheet = (sheet: TypeSheet): string =>
  `${JSON.stringify(typeSheetSchema.parse(sheet), null, 2)}\n`
