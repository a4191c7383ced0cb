import type { Bench } from '../../shared/model/bench.ts'
import type { FieldSpec } from './field-spec.ts'
import { getAt, joinPath } from './path.ts'
import { show } from './show.ts'

/** Fields under their section's name, in the order of their description. */
export function bySection(fields: readonly FieldSpec[]): [string, FieldSpec[]][] {
  const sections = new Map<string, FieldSpec[]>()
  for (const field of fields) {
    const name = field.section ?? ''
    sections.set(name, [...(sections.get(name) ?? []), field])
  }
  return [...sections]
}

export interface Fact {
  readonly path: string
  readonly label: string
  readonly value: string
}

/** What is known of an entry, field by field; a group that is there is opened up. */
export function factsOf(fields: readonly FieldSpec[], entry: unknown, bench: Bench, base = ''): Fact[] {
  return fields.flatMap(field => {
    const path = joinPath(base, field.path)
    const inside = getAt(entry, path)
    if (field.kind === 'group' && typeof inside === 'object' && inside !== null)
      return factsOf(field.fields ?? [], entry, bench, path)
    return [{ path, label: field.label, value: show({ ...field, path }, entry, bench) }]
  })
}
