import { describe, expect, it } from 'vitest'
import type { z } from 'zod'
import type { FieldSpec } from '../../../renderer/fleet/field-spec.ts'
import { benchSelf, KINDS, kinds, listOf } from '../../../renderer/fleet/kinds.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { benchSchema } from '../../../shared/model/bench.ts'
import { catalogueSchema } from '../../../shared/model/catalogue.ts'

interface Leaf {
  readonly path: string
  readonly notKnown: boolean
  readonly optional: boolean
  readonly any: boolean
}

type Def = z.core.$ZodTypeDef & {
  innerType?: z.ZodType
  shape?: Record<string, z.ZodType>
  element?: z.ZodType
  options?: z.ZodType[]
  values?: unknown[]
}
const defOf = (schema: z.ZodType) => schema.def as unknown as Def
const isLiteral = (schema: z.ZodType, value: unknown) =>
  defOf(schema).type === 'literal' && defOf(schema).values?.includes(value) === true

/** Every field that a person could fill in, read off the schema itself. */
function leaves(
  schema: z.ZodType,
  path = '',
  seen = { notKnown: false, optional: false, any: false },
): Leaf[] {
  const def = defOf(schema)
  if (def.type === 'optional') return leaves(def.innerType!, path, { ...seen, optional: true })
  if (def.type === 'default') return leaves(def.innerType!, path, seen)
  if (def.type === 'union' && def.options!.some(o => isLiteral(o, 'unknown') || isLiteral(o, 'any'))) {
    const notKnown = def.options!.some(o => isLiteral(o, 'unknown'))
    const any = def.options!.some(o => isLiteral(o, 'any'))
    return leaves(def.options![0], path, { ...seen, notKnown, any })
  }
  if (def.type === 'object') {
    const inner = Object.entries(def.shape!).flatMap(([key, field]) =>
      leaves(field, path === '' ? key : `${path}.${key}`),
    )
    return seen.notKnown || seen.optional ? [{ path, ...seen }, ...inner] : inner
  }
  if (def.type === 'array' && defOf(def.element!).type === 'object')
    return [{ path, ...seen }, ...leaves(def.element!, `${path}[]`)]
  return [{ path, ...seen }]
}

/** The same, read off the descriptions that the forms are made of. */
function described(fields: readonly FieldSpec[], base = ''): Leaf[] {
  return fields.flatMap(field => {
    const path = base === '' ? field.path : `${base}.${field.path}`
    const { notKnown = false, optional = false, any = false } = field
    const own = { path, notKnown, optional, any }
    if (field.kind === 'group') return [own, ...described(field.fields ?? [], path)]
    if (field.kind === 'rows') return [own, ...described(field.fields ?? [], `${path}[]`)]
    return [own]
  })
}

const byPath = (list: Leaf[]) => list.toSorted((a, b) => a.path.localeCompare(b.path))

describe('the descriptions of fields', () => {
  it.each(KINDS)('cover every field of %s, with the same choices as the schema', kind => {
    expect(byPath(described(kinds[kind].fields))).toEqual(byPath(leaves(kinds[kind].schema)))
  })

  it("cover the bench's own fields", () => {
    expect(byPath(described(benchSelf.fields))).toEqual(byPath(leaves(benchSelf.schema)))
  })

  it('leave out no list of the bench, and nothing but the marks of the format', () => {
    const inLists = [...Object.keys(catalogueSchema.shape), ...Object.keys(benchSchema.shape)]
    const elsewhere = ['catalogue', 'format', 'formatVersion', ...Object.keys(benchSelf.schema.shape)]
    expect(inLists.filter(key => !elsewhere.includes(key)).sort()).toEqual([...KINDS].sort())
  })

  it.each(KINDS)('name columns of %s that exist, and each field only once', kind => {
    const paths = kinds[kind].fields.map(field => field.path)
    expect(new Set(paths).size).toBe(paths.length)
    for (const column of kinds[kind].columns) expect(paths).toContain(column)
  })

  it.each(KINDS)('have an option for each value of a choice in %s', kind => {
    const shape = defOf(kinds[kind].schema).shape!
    const choices = kinds[kind].fields.filter(f => f.kind === 'choice' && f.path in shape)
    for (const field of choices) {
      for (const option of field.options ?? [])
        expect(shape[field.path].safeParse(option.value).success, `${kind}.${field.path}`).toBe(true)
      const entries = (shape[field.path] as { options?: unknown[] }).options
      if (entries?.every(e => typeof e === 'string'))
        expect(field.options?.map(o => o.value)).toEqual(entries)
    }
  })

  it.each(KINDS)('offer a start for new %s that lacks nothing but what only the person knows', kind => {
    const bench = demoBench()
    const blank = kinds[kind].blank(bench)
    const parsed = kinds[kind].schema.safeParse(blank)
    expect(parsed.success).toBe(false)
    const open = parsed.error!.issues.map(issue => String(issue.path[0]))
    const own = ['id', 'nickname', 'name', 'maker', 'receiverIds', 'version', 'moduleFirmware']
    for (const field of open) expect(own).toContain(field)
    expect(listOf(bench, kind).length).toBeGreaterThan(0)
  })
})
