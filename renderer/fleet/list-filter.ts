import type { Bench } from '../../shared/model/bench.ts'
import type { FieldSpec } from './field-spec.ts'
import { type Entry, type Kind, kinds, listOf, nameOf } from './kinds.ts'
import { fold } from './rows.ts'
import { show } from './show.ts'

/** Finding things in a list: by words anywhere in a row, and by one value of one column. */
export interface ListFilter {
  readonly text: string
  /** What the column of `filterValues` shows; '' for any. */
  readonly value: string
}

export const NO_LIST_FILTER: ListFilter = { text: '', value: '' }

export function readListFilter(kept: string): ListFilter | undefined {
  try {
    const { text, value }: Partial<Record<string, unknown>> = JSON.parse(kept)
    return { text: typeof text === 'string' ? text : '', value: typeof value === 'string' ? value : '' }
  } catch {
    return undefined
  }
}

const columnsOf = (kind: Kind): FieldSpec[] =>
  kinds[kind].columns.flatMap(path => kinds[kind].fields.find(field => field.path === path) ?? [])

/** The first column that many rows share a value of. */
const sortingField = (kind: Kind): FieldSpec | undefined =>
  columnsOf(kind).find(field => field.kind === 'reference' || field.kind === 'choice')

export interface FilterValues {
  readonly field: FieldSpec | undefined
  readonly values: readonly string[]
}

export function filterValues(bench: Bench, kind: Kind): FilterValues {
  const field = sortingField(kind)
  if (field === undefined) return { field, values: [] }
  const values = new Set(listOf(bench, kind).map(entry => show(field, entry, bench)))
  return { field, values: [...values].toSorted((a, b) => a.localeCompare(b)) }
}

/** Receivers are also found by the model that they are in. */
function modelsOf(bench: Bench, kind: Kind): ReadonlyMap<string, string> {
  if (kind !== 'receivers') return new Map()
  return new Map(
    bench.models.flatMap(model => model.receiverIds.map((id): [string, string] => [id, model.name])),
  )
}

/** All words of the search anywhere in a row; a value that no row has any more filters nothing. */
export function filterList(bench: Bench, kind: Kind, filter: ListFilter): readonly Entry[] {
  const list = listOf(bench, kind)
  const words = fold(filter.text).split(/\s+/).filter(Boolean)
  const { field, values } = filterValues(bench, kind)
  const wanted = values.includes(filter.value) ? filter.value : ''
  if (words.length === 0 && wanted === '') return list
  const columns = columnsOf(kind)
  const models = modelsOf(bench, kind)
  return list.filter(entry => {
    if (field && wanted !== '' && show(field, entry, bench) !== wanted) return false
    const said = fold(
      [
        nameOf(kind, entry),
        entry.id,
        models.get(entry.id),
        entry.note,
        ...columns.map(column => show(column, entry, bench)),
      ].join(' '),
    )
    return words.every(word => said.includes(word))
  })
}
