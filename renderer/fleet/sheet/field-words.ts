import type { Bench } from '../../../shared/model/bench.ts'
import { specAt } from '../check.ts'
import { factsOf } from '../facts.ts'
import { type Kind, kinds } from '../kinds.ts'
import { getAt } from '../path.ts'
import { show } from '../show.ts'

/** Fields and values of a sheet in the words of the forms. */

/** What a field is called, with the section or group that it stands in where its own name does not say enough. */
export function fieldWords(kind: Kind, path: string): string {
  const { fields } = kinds[kind]
  const spec = specAt(fields, path)
  if (spec === undefined) return path
  const group = fields.find(field => field.kind === 'group' && path.startsWith(`${field.path}.`))
  if (group !== undefined) return `${group.label}: ${spec.label}`
  const isPlain =
    spec.section === undefined || /^(What it is|Link|Updating|Remarks|Supply)$/.test(spec.section)
  return isPlain ? spec.label : `${spec.section}: ${spec.label}`
}

/** The value that an entry has there. `bench` says what its references are called. */
export function valueWords(kind: Kind, path: string, entry: unknown, bench: Bench): string {
  const spec = specAt(kinds[kind].fields, path)
  const value = getAt(entry, path)
  if (spec === undefined) return value === undefined ? 'none' : JSON.stringify(value)
  if (spec.kind === 'group' && typeof value === 'object')
    return factsOf([{ ...spec, path }], entry, bench)
      .map(fact => `${fact.label} ${fact.value}`)
      .join(', ')
  return show({ ...spec, path }, entry, bench)
}
