import { type Bench, checkBench } from '../model/bench.ts'
import type { Catalogue } from '../model/catalogue.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import {
  type Compared,
  compareSheet,
  type Decision,
  type Decisions,
  decisionOf,
  newIds,
  theirPaths,
} from './compare.ts'
import { taking } from './differences.ts'
import {
  connectorsOf,
  entryName,
  SHEET_KINDS,
  type SheetEntry,
  type SheetKind,
  type TypeSheet,
  withConnectors,
} from './type-sheet.ts'

export interface Taken {
  readonly bench: Bench
  /** What was done, for "Undo …". */
  readonly label: string
  readonly added: number
  readonly changed: number
}

/** What a field is called where people read it. */
export type SayField = (kind: SheetKind, path: string) => string

/** What a claim of a sheet rests on: the source of the type, or else the sheet itself. */
export function sourceOf(entry: SheetEntry, sheet: TypeSheet): { text: string; date?: string } {
  const { source } = entry as { source?: { text: string; date?: string } }
  if (source !== undefined && source.text !== '') return source
  const by = sheet.author === undefined ? '' : ` by ${sheet.author}`
  return { text: `Type sheet “${sheet.title}”${by}`.slice(0, 200), date: sheet.date }
}

/**
 * Puts what was decided for a sheet on the bench, in one change. Ids of what is already there stay as they are; ids of
 * what is added are changed where they are taken, and what refers to them follows.
 * @returns the bench, or why it would no longer be a valid one; then nothing is to be changed
 */
export function takeSheet(
  bench: Bench,
  sheet: TypeSheet,
  decisions: Decisions,
  sayField: SayField = (_, path) => path,
): Result<Taken> {
  const compared = compareSheet(bench.catalogue, sheet, decisions)
  const ids = new Map(SHEET_KINDS.map(kind => [kind, idsOf(kind, bench.catalogue, compared, decisions)]))
  const lists: Record<SheetKind, SheetEntry[]> = {
    connectors: [...bench.catalogue.connectors],
    radioTypes: [...bench.catalogue.radioTypes],
    moduleTypes: [...bench.catalogue.moduleTypes],
    receiverTypes: [...bench.catalogue.receiverTypes],
    pairings: [...bench.catalogue.pairings],
  }
  let added = 0
  let changed = 0
  for (const one of compared) {
    const { kind, id } = one.key
    const decision = decisionOf(one, decisions)
    const follow = (entry: SheetEntry) => withConnectors(kind, entry, ids.get('connectors') ?? new Map())
    if (decision.take === 'as-new') {
      const source = sourceOf(one.theirs, sheet)
      lists[kind].push({ ...follow(beside(one, sheet)), id: ids.get(kind)?.get(id) ?? id, source })
      added += 1
    } else if (decision.take === 'fields' && decision.paths.length > 0 && one.mine !== undefined) {
      const { mine } = one
      const next = {
        ...taking(mine, follow(one.theirs), decision.paths),
        source: mixedSource(one, sheet, decision.paths, sayField),
      }
      lists[kind] = lists[kind].map(entry => (entry === mine ? next : entry))
      changed += 1
    }
  }
  const missing = compared.find(
    one => bringsConnector(decisionOf(one, decisions)) && lacksConnector(one, ids.get('connectors')),
  )
  if (missing !== undefined)
    return failed({
      code: 'sheet.needs-connector',
      field: missing.name,
      message: `${missing.name} needs a connector of this sheet that you left out.`,
      remedy: 'Take the connector too, or leave both out.',
    })
  const checked = checkBench({ ...bench, catalogue: { ...bench.catalogue, ...(lists as Catalogue) } })
  if (!checked.ok)
    return failed(
      ...checked.problems.map(p => ({ ...p, remedy: 'Take another value there, or keep yours.' })),
    )
  return succeeded({ bench: checked.value, label: labelOf(sheet, added, changed), added, changed })
}

const bringsConnector = (decision: Decision): boolean =>
  decision.take === 'as-new' ||
  (decision.take === 'fields' &&
    decision.paths.some(path => /(^|\.)(connectorId|updatePort|service)$/.test(path)))

const lacksConnector = (one: Compared, connectors: ReadonlyMap<string, string> | undefined): boolean =>
  connectorsOf(one.key.kind, one.theirs).some(({ id }) => connectors?.get(id) === undefined)

/** Ids of the sheet to ids of the bench, of all that is on the bench in the end. */
function idsOf(
  kind: SheetKind,
  catalogue: Catalogue,
  compared: readonly Compared[],
  decisions: Decisions,
): Map<string, string> {
  const ofKind = compared.filter(({ key }) => key.kind === kind)
  const ids = new Map(newIds(catalogue, ofKind, decisions))
  for (const { key, mine } of ofKind) if (!ids.has(key.id) && mine) ids.set(key.id, mine.id)
  return ids
}

const LONGEST_NAME = 80

/** Of two with one name, the one that was taken says whose it is. */
function beside(one: Compared, sheet: TypeSheet): SheetEntry {
  const { theirs, mine, otherThing, key } = one
  if (mine === undefined || otherThing || key.kind === 'pairings') return theirs
  if (entryName(key.kind, mine) !== entryName(key.kind, theirs)) return theirs
  const whose = ` (${sheet.author ?? sheet.title})`.slice(0, 40)
  const { name } = theirs as { name: string }
  return { ...theirs, name: `${name.slice(0, LONGEST_NAME - whose.length).trimEnd()}${whose}` } as SheetEntry
}

const LONGEST_SOURCE = 200

/** Where the claims come from once some of them were taken. */
function mixedSource(
  one: Compared,
  sheet: TypeSheet,
  paths: readonly string[],
  sayField: SayField,
): { text: string; date?: string } {
  const theirs = sourceOf(one.theirs, sheet)
  const { source: mine } = one.mine as { source?: { text: string; date?: string } }
  const kept = one.differences.filter(({ how, path }) => how === 'conflict' && !paths.includes(path))
  if (
    mine === undefined ||
    mine.text === '' ||
    (kept.length === 0 && theirPaths(one).length === paths.length)
  )
    return theirs
  const dated = theirs.date === undefined ? theirs.text : `${theirs.text} (${theirs.date})`
  const text = `${mine.text}; ${paths.map(path => sayField(one.key.kind, path)).join(', ')} after ${dated}`
  return { ...mine, text: text.length <= LONGEST_SOURCE ? text : `${text.slice(0, LONGEST_SOURCE - 1)}…` }
}

function labelOf(sheet: TypeSheet, added: number, changed: number): string {
  const parts = [added > 0 && `add ${added}`, changed > 0 && `change ${changed}`]
    .filter(Boolean)
    .join(' and ')
  return `Import “${sheet.title}”${parts === '' ? '' : `: ${parts}`}`
}
