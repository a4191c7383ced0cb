import type { Bench } from '../../shared/model/bench.ts'
import { checkBench } from '../../shared/model/bench.ts'
import { checkDraft, type FieldErrors } from './check.ts'
import type { FieldSpec } from './field-spec.ts'
import {
  benchSelf,
  type Entry,
  findEntry,
  KINDS,
  type Kind,
  kinds,
  listOf,
  listPath,
  nameOf,
  withList,
} from './kinds.ts'
import { getAt, joinPath, setAt } from './path.ts'

/** Adding, changing, copying and deleting things on the bench. Pure: each answers with a new bench, or why not. */

export type Outcome =
  | { readonly ok: true; readonly bench: Bench; readonly label: string; readonly id: string }
  | { readonly ok: false; readonly errors: FieldErrors }

/** One place on the bench that names a thing by its id. */
export interface Reference {
  /** `undefined` for the bench's own wiring. */
  readonly kind: Kind | undefined
  readonly id: string
  readonly name: string
  /** What the field that refers is called. */
  readonly field: string
}

/** Every field below `fields` that names a thing of `kind`, as a concrete path into `entry`. */
function* referencePaths(
  fields: readonly FieldSpec[],
  entry: unknown,
  kind: Kind,
  base = '',
): Generator<{ path: string; spec: FieldSpec }> {
  for (const spec of fields) {
    const path = joinPath(base, spec.path)
    const value = getAt(entry, path)
    if (spec.kind === 'group') yield* referencePaths(spec.fields ?? [], entry, kind, path)
    else if (spec.kind === 'rows' && Array.isArray(value))
      for (let i = 0; i < value.length; i++)
        yield* referencePaths(spec.fields ?? [], entry, kind, joinPath(path, i))
    else if (spec.to !== kind) continue
    else if (spec.kind === 'references' && Array.isArray(value))
      for (let i = 0; i < value.length; i++) yield { path: joinPath(path, i), spec }
    else yield { path, spec }
  }
}

/** All that refers to this thing, in the order of the lists. */
export function referencesTo(bench: Bench, kind: Kind, id: string): Reference[] {
  const found: Reference[] = []
  for (const from of KINDS)
    for (const entry of listOf(bench, from))
      for (const { path, spec } of referencePaths(kinds[from].fields, entry, kind))
        if (getAt(entry, path) === id)
          found.push({ kind: from, id: entry.id, name: nameOf(from, entry), field: spec.label })
  for (const { path, spec } of referencePaths(benchSelf.fields, bench, kind))
    if (getAt(bench, path) === id)
      found.push({ kind: undefined, id: '', name: 'The wiring of this bench', field: spec.label })
  return found
}

/** The bench with every mention of one id replaced by another. */
function renamed(bench: Bench, kind: Kind, id: string, next: string): Bench {
  const follow = <T>(fields: readonly FieldSpec[], entry: T): T => {
    let result = entry
    for (const { path } of referencePaths(fields, entry, kind))
      if (getAt(entry, path) === id) result = setAt(result, path, next)
    return result
  }
  let result = follow(benchSelf.fields, bench)
  for (const from of KINDS)
    result = withList(
      result,
      from,
      listOf(result, from).map(entry => follow(kinds[from].fields, entry)),
    )
  return result
}

/** An id made of a name that no other thing of its kind has. */
export function freeId(bench: Bench, kind: Kind, name: string): string {
  const plain = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9.]+/g, '-')
    .replace(/^[-.]+|-+$/g, '')
    .slice(0, 56)
  const stem = plain === '' ? kinds[kind].one.replaceAll(' ', '-') : plain
  const taken = new Set(listOf(bench, kind).map(entry => entry.id))
  let id = stem
  for (let n = 2; taken.has(id); n++) id = `${stem}-${n}`
  return id
}

const withId = (bench: Bench, kind: Kind, draft: Entry): Entry =>
  draft.id.trim() === '' ? { ...draft, id: freeId(bench, kind, nameOf(kind, draft)) } : draft

/** The bench's own check as the last word; what it says about this entry goes to the field it is about. */
function settle(next: Bench, at: string, label: string, id: string): Outcome {
  const checked = checkBench(next)
  if (checked.ok) return { ok: true, bench: checked.value, label, id }
  const errors: Record<string, string> = {}
  for (const problem of checked.problems) {
    const field = problem.field ?? ''
    const isHere = at !== '' && field.startsWith(`${at}.`)
    const path = isHere ? field.slice(at.length + 1).replace(/\[(\d+)\]/g, '.$1') : at === '' ? field : ''
    errors[path] ??= isHere || at === '' ? problem.message : `${field}: ${problem.message}`
  }
  return { ok: false, errors }
}

/** What a person reads about a kind that is not plain from the name alone. */
const called = (kind: Kind, entry: Entry): string =>
  /Types$|pairings|connectors|images/.test(kind)
    ? `the ${kinds[kind].one} ${nameOf(kind, entry)}`
    : nameOf(kind, entry)

export function add(bench: Bench, kind: Kind, draft: Entry): Outcome {
  const named = withId(bench, kind, draft)
  const checked = checkDraft(kinds[kind], named)
  if (!checked.ok) return checked
  const list = listOf(bench, kind)
  return settle(
    withList(bench, kind, [...list, checked.value as Entry]),
    `${listPath(kind)}[${list.length}]`,
    `Add ${called(kind, checked.value as Entry)}`,
    named.id,
  )
}

/** Another id is followed by all that refers to the thing. */
export function change(bench: Bench, kind: Kind, id: string, draft: Entry): Outcome {
  const list = listOf(bench, kind)
  const at = list.findIndex(entry => entry.id === id)
  if (at < 0) return { ok: false, errors: { '': 'This is no longer on the bench.' } }
  const others = withList(bench, kind, list.toSpliced(at, 1))
  const named = withId(others, kind, draft)
  const checked = checkDraft(kinds[kind], named)
  if (!checked.ok) return checked
  if (listOf(others, kind).some(entry => entry.id === named.id))
    return { ok: false, errors: { id: `Another ${kinds[kind].one} has this id already.` } }
  const changed = withList(bench, kind, list.with(at, checked.value as Entry))
  const next = named.id === id ? changed : renamed(changed, kind, id, named.id)
  return settle(next, `${listPath(kind)}[${at}]`, `Change ${called(kind, list[at])}`, named.id)
}

/** Name, note and wiring of the bench itself. */
export function changeBench(bench: Bench, draft: unknown): Outcome {
  const checked = checkDraft(benchSelf, draft)
  if (!checked.ok) return checked
  return settle({ ...bench, ...(checked.value as object) }, '', 'Change name and wiring of the bench', '')
}

/** A draft of a second one like it, not yet on the bench. */
export function copyOf(kind: Kind, entry: Entry): Entry {
  const { nickname, name } = entry
  const copied = structuredClone(entry)
  if (nickname !== undefined) return { ...copied, id: '', nickname: `Copy of ${nickname}`.slice(0, 80) }
  return { ...copied, id: '', ...(kind === 'pairings' ? {} : { name: `Copy of ${name}`.slice(0, 80) }) }
}

export type Removal =
  | { readonly ok: true; readonly bench: Bench; readonly label: string }
  | { readonly ok: false; readonly references: readonly Reference[] }

/** Refused while anything refers to the thing. */
export function remove(bench: Bench, kind: Kind, id: string): Removal {
  const references = referencesTo(bench, kind, id)
  if (references.length > 0) return { ok: false, references }
  const entry = findEntry(bench, kind, id)
  return {
    ok: true,
    bench: withList(
      bench,
      kind,
      listOf(bench, kind).filter(other => other.id !== id),
    ),
    label: `Delete ${entry ? called(kind, entry) : kinds[kind].one}`,
  }
}
