import type { Bench } from '../../shared/model/bench.ts'
import { UNKNOWN } from '../../shared/model/units.ts'
import type { FieldSpec } from './field-spec.ts'
import { findEntry, type Kind, nameOf } from './kinds.ts'
import { getAt } from './path.ts'

const named = (bench: Bench, to: Kind | undefined, id: unknown): string => {
  const entry = to && findEntry(bench, to, String(id))
  return to && entry ? nameOf(to, entry) : `${String(id)} (missing)`
}

const word = (spec: FieldSpec, value: unknown): string =>
  spec.options?.find(option => option.value === value)?.word ?? String(value)

const rounded = (n: number) => String(Number(n.toPrecision(4)))

function sayRow(spec: FieldSpec, row: unknown, bench: Bench): string {
  const parts = (spec.fields ?? []).map(field => show(field, row, bench))
  if (spec.path === 'wires') return parts.join(' to ')
  if (spec.path !== 'pinWires') return parts.join(' ')
  const [from, to, through] = parts
  return `${from} to ${to}${getAt(row, 'through') === 'wire' ? '' : ` through ${through}`}`
}

/** A field's value in words, for lists and facts. */
export function show(spec: FieldSpec, entry: unknown, bench: Bench): string {
  const value = getAt(entry, spec.path)
  if (value === UNKNOWN && spec.notKnown) return 'not known'
  if (value === undefined || value === '') return 'none'
  if (value === 'any' && spec.any) return 'any'
  if (spec.kind === 'yes-no') return value === true ? 'yes' : 'no'
  if (spec.kind === 'reference') return named(bench, spec.to, value)
  if (spec.kind === 'choice') return word(spec, value)
  if (spec.kind === 'number') {
    const shown = spec.hexadecimal
      ? `0x${Number(value).toString(16).toUpperCase()}`
      : spec.scale
        ? rounded(Number(value) / spec.scale)
        : String(value)
    return spec.unit ? `${shown} ${spec.unit}` : shown
  }
  if (!Array.isArray(value)) return String(value)
  if (value.length === 0) return 'none'
  if (spec.kind === 'references') return value.map(id => named(bench, spec.to, id)).join(', ')
  if (spec.kind === 'choices') return value.map(item => word(spec, item)).join(', ')
  if (spec.kind === 'rows') return value.map(row => sayRow(spec, row, bench)).join(', ')
  return value.join(', ')
}
