import { describe, expect, it } from 'vitest'
import { bySection, factsOf } from '../../../renderer/fleet/facts.ts'
import { KINDS, kinds, listOf } from '../../../renderer/fleet/kinds.ts'
import { demoBench } from '../../../shared/demo/bench.ts'

const bench = demoBench()

describe('what is known of an entry', () => {
  it('is said in words for every field of everything on the demo bench', () => {
    for (const kind of KINDS)
      for (const entry of listOf(bench, kind)) {
        const facts = factsOf(kinds[kind].fields, entry, bench)
        expect(facts.length).toBeGreaterThanOrEqual(kinds[kind].fields.length)
        expect(new Set(facts.map(fact => fact.path)).size).toBe(facts.length)
        for (const { label, value } of facts) {
          expect(label).not.toBe('')
          expect(value).not.toMatch(/^$|\[object|undefined|NaN|\(missing\)/)
        }
      }
  })

  it('opens up a group, and says of an absent one that there is none', () => {
    const [first] = bench.cards
    const inside = [{ path: 'inner.size', label: 'Size', kind: 'number', unit: 'mm' } as const]
    const group = [{ path: 'body', label: 'Body', kind: 'group', fields: inside } as const]
    expect(factsOf(group, { ...first, body: { inner: { size: 3 } } }, bench)).toEqual([
      { path: 'body.inner.size', label: 'Size', value: '3 mm' },
    ])
    expect(factsOf(group, first, bench)).toEqual([{ path: 'body', label: 'Body', value: 'none' }])
  })

  it('keeps the order of the description under the names of its sections', () => {
    const sections = bySection(kinds.modules.fields)
    expect(sections.flatMap(([, fields]) => fields)).toEqual(kinds.modules.fields)
    expect(sections.map(([name]) => name).slice(0, 2)).toEqual(['What it is', 'How it is set'])
  })
})
