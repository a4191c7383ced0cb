import { describe, expect, it } from 'vitest'
import { getAt, joinPath, setAt } from '../../../renderer/fleet/path.ts'

describe('paths into an entry', () => {
  const tree = { a: { b: [{ c: 1 }, { c: 2 }] }, d: 3 }

  it('read, and answer undefined where there is nothing', () => {
    expect(getAt(tree, 'a.b.1.c')).toBe(2)
    expect(getAt(tree, '')).toBe(tree)
    expect(getAt(tree, 'a.x.c')).toBeUndefined()
    expect(getAt('unknown', 'a')).toBeUndefined()
  })

  it('change a copy, and share what lies beside', () => {
    const next = setAt(tree, 'a.b.1.c', 9)
    expect(next).toEqual({ a: { b: [{ c: 1 }, { c: 9 }] }, d: 3 })
    expect(tree.a.b[1].c).toBe(2)
    expect(next.a.b[0]).toBe(tree.a.b[0])
    expect(Array.isArray(next.a.b)).toBe(true)
  })

  it('make what is missing on the way', () => {
    expect(setAt({}, 'source.text', 'label')).toEqual({ source: { text: 'label' } })
    expect(setAt({ source: 'unknown' }, 'source.text', 'label')).toEqual({ source: { text: 'label' } })
  })

  it('join without empty parts', () => {
    expect(joinPath('', 'wires', 0, 'from')).toBe('wires.0.from')
  })
})
