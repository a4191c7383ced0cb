import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Json } from '../../shared/api/octets.ts'
import { MAX_DEPTH, putInOctets, takeOutOctets } from '../../shared/api/octets.ts'
import { sendable } from './sendable.ts'

function back(json: Json, parts: readonly Uint8Array[] = []): unknown {
  return putInOctets(json, { parts, used: parts.map(() => false) })
}

describe('octets beside JSON', () => {
  it('come back as they were, through JSON text, for every value that can be sent', () => {
    fc.assert(
      fc.property(sendable, value => {
        const parts: Uint8Array[] = []
        const text = JSON.stringify(takeOutOctets(value, parts))
        expect(back(JSON.parse(text), parts)).toStrictEqual(value)
      }),
    )
  })

  it('cannot be imitated by data', () => {
    const parts: Uint8Array[] = []
    const value = { a: { $octets: 0 }, b: { $number: 'NaN' }, c: { $$octets: 1 }, d: new Uint8Array([1]) }
    expect(back(takeOutOctets(value, parts), parts)).toStrictEqual(value)
    expect(parts).toHaveLength(1)
  })

  it.each([Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, -0])(
    'keep the number %s',
    number => {
      expect(back(JSON.parse(JSON.stringify(takeOutOctets(number, []))))).toBe(number)
    },
  )

  it.each([[new Date(0)], [new Map()], [() => 1], [1n], [Symbol('s')], [new Float64Array(1)]])(
    'refuse what JSON would quietly change: %s',
    value => {
      expect(() => takeOutOctets({ value }, [])).toThrow(/cannot be sent|plain objects/)
    },
  )

  it('refuse cycles and deep nesting, both ways', () => {
    const cycle: { self?: unknown } = {}
    cycle.self = cycle
    expect(() => takeOutOctets(cycle, [])).toThrow('nested')
    const deep = JSON.parse(`${'['.repeat(MAX_DEPTH + 2)}${']'.repeat(MAX_DEPTH + 2)}`)
    expect(() => back(deep)).toThrow('nested')
  })

  it('refuse a field that would replace the prototype', () => {
    expect(() => back(JSON.parse('{"__proto__": {"admin": true}}'))).toThrow('__proto__')
    expect(() => takeOutOctets(JSON.parse('{"__proto__": 1}'), [])).toThrow('__proto__')
  })

  it.each([
    [{ $octets: 1 }],
    [{ $octets: -1 }],
    [{ $octets: 0.5 }],
    [{ $octets: '0' }],
    [{ $number: 'toString' }],
    [{ $other: 1 }],
  ])('refuse the placeholder %j', json => {
    expect(() => back(json, [new Uint8Array(1)])).toThrow(/octets|number|marker/)
  })

  it('are handed out once, so a short message cannot grow into a long value', () => {
    expect(() => back([{ $octets: 0 }, { $octets: 0 }], [new Uint8Array(1)])).toThrow('twice')
  })
})
