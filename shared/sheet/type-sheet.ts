import { z } from 'zod'
import type { Catalogue } from '../model/catalogue.ts'
import { catalogueSchema } from '../model/catalogue.ts'
import { labelSchema, noteSchema } from '../model/units.ts'

/**
 * A type sheet: descriptions of gear that people send each other. It holds a part of a catalogue that is whole in
 * itself, says who wrote it and when, and each description says where it comes from (`source` of a type).
 */

/** A sheet of all that 10,000 entries could need stays well below; a larger file is no sheet. */
export const MAX_SHEET_FILE_CHARS = 4 * 1024 * 1024

export const SHEET_SUFFIX = '.types.json'

const lists = catalogueSchema.shape

export const typeSheetSchema = z.object({
  format: z.literal('preflash-types'),
  formatVersion: z.literal(1),
  title: labelSchema,
  author: labelSchema.optional(),
  /** The day on which the sheet was written. */
  date: z.iso.date({ error: 'a date such as 2026-11-25' }),
  note: noteSchema,
  radioTypes: lists.radioTypes.default([]),
  moduleTypes: lists.moduleTypes.default([]),
  receiverTypes: lists.receiverTypes.default([]),
  connectors: lists.connectors.default([]),
  pairings: lists.pairings.default([]),
})
export type TypeSheet = z.infer<typeof typeSheetSchema>

/** Lists of a sheet, those first that others refer to. */
export const SHEET_KINDS = ['connectors', 'radioTypes', 'moduleTypes', 'receiverTypes', 'pairings'] as const
export type SheetKind = (typeof SHEET_KINDS)[number]

export type SheetEntry = Catalogue[SheetKind][number]

/** One entry, named by the list it stands in and its id. */
export interface EntryKey {
  readonly kind: SheetKind
  readonly id: string
}

export const keyOf = ({ kind, id }: EntryKey): string => `${kind} ${id}`

/** A connector that an entry names, and the field that names it. */
export interface NamedConnector {
  readonly path: readonly string[]
  readonly id: string
}

/** The connectors that an entry names. Nothing else in a catalogue refers by id. */
export function connectorsOf(kind: SheetKind, entry: SheetEntry): NamedConnector[] {
  if (kind === 'receiverTypes') {
    const { connectorId, service } = entry as Catalogue['receiverTypes'][number]
    const own = service && { path: ['service', 'connectorId'], id: service.connectorId }
    return [{ path: ['connectorId'], id: connectorId }, ...(own ? [own] : [])]
  }
  if (kind !== 'radioTypes') return []
  const { updatePort } = entry as Catalogue['radioTypes'][number]
  return updatePort === 'unknown' ? [] : [{ path: ['updatePort', 'connectorId'], id: updatePort.connectorId }]
}

/** The entry with its connectors named by other ids; one that `ids` does not have keeps its own. */
export function withConnectors<E extends SheetEntry>(
  kind: SheetKind,
  entry: E,
  ids: ReadonlyMap<string, string>,
): E {
  const other = (id: string) => ids.get(id) ?? id
  if (kind === 'receiverTypes') {
    const { connectorId, service } = entry as Catalogue['receiverTypes'][number]
    return {
      ...entry,
      connectorId: other(connectorId),
      ...(service ? { service: { ...service, connectorId: other(service.connectorId) } } : {}),
    }
  }
  const port = kind === 'radioTypes' ? (entry as Catalogue['radioTypes'][number]).updatePort : 'unknown'
  return port === 'unknown'
    ? entry
    : { ...entry, updatePort: { ...port, connectorId: other(port.connectorId) } }
}

/** What a person calls the entry. */
export function entryName(kind: SheetKind, entry: SheetEntry): string {
  if (kind === 'pairings') {
    const { family, generation, receiverFirmware } = entry as Catalogue['pairings'][number]
    return `${family} generation ${generation}, receivers ${receiverFirmware}`
  }
  const { maker, name } = entry as { maker?: string; name: string }
  return maker === undefined ? name : `${maker} ${name}`
}
