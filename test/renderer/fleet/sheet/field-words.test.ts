import { describe, expect, it } from 'vitest'
import { kinds } from '../../../../renderer/fleet/kinds.ts'
import { fieldWords, valueWords } from '../../../../renderer/fleet/sheet/field-words.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { compareSheet } from '../../../../shared/sheet/compare.ts'
import { allKeys, makeSheet } from '../../../../shared/sheet/make-sheet.ts'

const bench = demoBench()
const [type] = bench.catalogue.receiverTypes

/** The same, but nothing is known any more except what tells one entry from another. */
function forget(value: unknown, key = ''): unknown {
  if (/^(id|name|maker|source|family|generation)$/.test(key)) return value
  if (Array.isArray(value) && key in bench.catalogue) return value.map(entry => forget(entry))
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return 'unknown'
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, forget(inner, name)]))
}

describe('fields and values in the words of the forms', () => {
  it('name every field of every type that a sheet can hold, never by its path', () => {
    const made = makeSheet(bench.catalogue, allKeys(bench.catalogue), { title: 'All', date: '2026-11-25' })
    if (!made.ok) throw new Error(made.problems[0].message)
    // Held against nothing known, every field of a type stands as a difference.
    const bare = forget(made.value) as typeof bench.catalogue
    const compared = compareSheet(bare, made.value, new Map())
    const paths = compared.flatMap(one => one.differences.map(d => [one.key.kind, d.path] as const))
    expect(paths.length).toBeGreaterThan(30)
    const unsaid = paths.filter(([kind, path]) => fieldWords(kind, path) === path)
    expect(fieldWords('radioTypes', 'updatePort')).not.toBe('updatePort')
    expect([...new Set(unsaid.map(([kind, path]) => `${kind}.${path}`))]).toEqual([])
  })

  it('say values with their unit, and references by name', () => {
    expect(valueWords('receiverTypes', 'connectorId', type, bench)).toBe(
      bench.catalogue.connectors.find(c => c.id === type.connectorId)?.name,
    )
    expect(valueWords('receiverTypes', 'supply.leastVolts', type, bench)).toMatch(/^\d+(\.\d+)? V$/)
    expect(
      valueWords('receiverTypes', 'nativeGeneration', { ...type, nativeGeneration: 'unknown' }, bench),
    ).toBe('not known')
  })

  it('show what no form has as it stands', () => {
    expect(fieldWords('receiverTypes', 'no.such')).toBe('no.such')
    expect(valueWords('receiverTypes', 'no.such', type, bench)).toBe('none')
    expect(kinds.receiverTypes.fields.length).toBeGreaterThan(0)
  })
})
