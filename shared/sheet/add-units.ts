import { type Bench, checkBench } from '../model/bench.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { UNKNOWN } from '../model/units.ts'
import { fold, type TableKind } from './unit-fields.ts'
import { LONGEST_NAME, readUnits, type TableUnit, type UnitRow } from './unit-rows.ts'

/** Putting several units on the bench at once: those of a table, or a number of one type. */

/** An id made of a name: lower case letters, digits and hyphens. */
const stemOf = (name: string, fallback: string): string => {
  const plain = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 52)
    .replace(/^-+|-+$/g, '')
  return plain === '' ? fallback : plain
}

const ONE: Readonly<Record<TableKind, string>> = { receivers: 'receiver', modules: 'module', radios: 'radio' }

/**
 * Puts units on the bench in one change, and receivers into their models, modules into their radios.
 * @returns the bench with its label for "Undo …"; problems where the bench would not be valid, which leaves it alone
 */
export function addUnits(
  bench: Bench,
  kind: TableKind,
  rows: readonly Pick<UnitRow, 'unit' | 'modelId' | 'radioId'>[],
): Result<{ bench: Bench; label: string; ids: readonly string[] }> {
  const taken = new Set<string>(bench[kind].map(unit => unit.id))
  const ids: string[] = []
  let next = bench
  for (const { unit, modelId, radioId } of rows) {
    if (unit === undefined) continue
    const stem = stemOf(unit.nickname, ONE[kind])
    let id = stem
    for (let n = 2; taken.has(id); n++) id = `${stem}-${n}`
    taken.add(id)
    ids.push(id)
    next = { ...next, [kind]: [...next[kind], { ...unit, id }] }
    if (modelId !== undefined)
      next = {
        ...next,
        models: next.models.map(m => (m.id === modelId ? { ...m, receiverIds: [...m.receiverIds, id] } : m)),
      }
    if (radioId !== undefined)
      next = {
        ...next,
        radios: next.radios.map(r => (r.id === radioId ? { ...r, moduleIds: [...r.moduleIds, id] } : r)),
      }
  }
  const checked = checkBench(next)
  if (!checked.ok) return failed(...checked.problems)
  const label = `Add ${ids.length} ${ids.length === 1 ? ONE[kind] : kind}`
  return succeeded({ bench: checked.value, label, ids })
}

export const MOST_AT_ONCE = 100

/**
 * Several units of one type, as they come out of the shop: nothing is known of them but their type.
 * @param count from 1 to `MOST_AT_ONCE`
 * @param stem what they are called before their number
 * @param first the first number; numbers whose name is taken are passed over
 */
export function severalOf(
  bench: Bench,
  kind: TableKind,
  typeId: string,
  count: number,
  stem: string,
  first: number,
  factoryFresh: boolean,
): UnitRow[] {
  const names = new Set(bench[kind].map(unit => fold(unit.nickname)))
  const rows: { line: number; cells: string[] }[] = []
  for (let n = first; rows.length < Math.min(count, MOST_AT_ONCE); n++) {
    const name = `${stem.trim().slice(0, LONGEST_NAME - 6)} ${n}`.trim()
    if (!names.has(fold(name))) rows.push({ line: rows.length + 1, cells: [name, factoryFresh ? 'yes' : ''] })
  }
  return readUnits(bench, rows, { kind, fields: ['nickname', 'factoryFresh'], typeId }).map(row => ({
    ...row,
    unit: row.unit && asDelivered(bench, kind, row.unit, factoryFresh),
  }))
}

/** A receiver that was never updated speaks the generation of its type. */
function asDelivered(bench: Bench, kind: TableKind, unit: TableUnit, factoryFresh: boolean): TableUnit {
  if (kind !== 'receivers' || !factoryFresh) return unit
  const type = bench.catalogue.receiverTypes.find(t => t.id === unit.typeId)
  return { ...(unit as ReceiverUnit), generation: type?.nativeGeneration ?? UNKNOWN }
}
