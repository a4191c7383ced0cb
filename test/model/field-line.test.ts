import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fieldPath, withLines } from '../../shared/model/field-line.ts'

const lineOf = (text: string, field: string) =>
  withLines([{ code: 'x', message: 'wrong', field }], text)[0]?.line

const TEXT = `{
  "name": "a { [ : , \\" b",
  "list": [
    1,
    { "deep": [[], {
      "x.y": 3 }] },
    { }
  ],
  "name": "again", "list2": [
    { "b\\"c": "x, ] }",
      "d": null }
  ]
}`

describe('the line of a field', () => {
  it.each([
    ['list', 3],
    ['list[0]', 4],
    ['list[1]', 5],
    ['list[1].deep[1]', 5],
    ['list[1].deep[1].x.y', 6],
    // A field that is not there: where what should hold it begins.
    ['list[2].missing', 7],
    ['list[9]', 3],
    // As JSON.parse takes the last of two.
    ['name', 9],
    ['list2[0].b"c', 10],
    ['list2[0].d', 11],
    ['nothing.at.all', 1],
  ])('%s: %s', (field, line) => expect(lineOf(TEXT, field)).toBe(line))

  it('is found behind strings that no pattern could be run over', () => {
    const text = JSON.stringify({ a: 'x'.repeat(12_000_000), b: '\\"'.repeat(100_000), c: [1] }, null, 1)
    expect(lineOf(text, 'c[0]')).toBe(5)
  })

  it('leaves a line that is known, and a problem without a field', () => {
    const problems = [
      { code: 'x', message: 'wrong', field: 'list', line: 77 },
      { code: 'y', message: 'wrong' },
    ]
    expect(withLines(problems, TEXT)).toEqual(problems)
  })

  it('finds every value of any JSON that JSON.stringify lays out, each on its line', () => {
    const key = fc.string({ minLength: 1, maxLength: 6 }).filter(k => !/[.[\]]/.test(k) && k !== '__proto__')
    const value = fc.letrec(tie => ({
      any: fc.oneof(
        { depthSize: 'small' },
        fc.constantFrom(null, true, 0, -1.5e9, 'text', 'a\n"{[,:'),
        fc.array(tie('any'), { maxLength: 4 }),
        fc.dictionary(key, tie('any'), { maxKeys: 4 }),
      ),
    })).any
    fc.assert(
      fc.property(value, whole => {
        const text = JSON.stringify(whole, null, 1)
        for (const { path, line } of placesOf(whole)) expect(lineOf(text, fieldPath(path))).toBe(line)
      }),
      { seed: 5, numRuns: 300 },
    )
  })

  it('says no line of what is no JSON, and never throws', () => {
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom(...'{}[],:"\\a1 \n') }), text => {
        expect(() => withLines([{ code: 'x', message: '', field: 'a[1].a' }], text)).not.toThrow()
      }),
      { seed: 6, numRuns: 2000 },
    )
  })
})

/** Every value below the whole, with its line, by the layout of JSON.stringify (ECMA-262, SerializeJSONObject). */
function placesOf(whole: unknown): { path: PropertyKey[]; line: number }[] {
  const places: { path: PropertyKey[]; line: number }[] = []
  let line = 1
  const walk = (value: unknown, path: PropertyKey[]): void => {
    if (path.length > 0) places.push({ path, line })
    if (typeof value !== 'object' || value === null) return
    const entries: [PropertyKey, unknown][] = Array.isArray(value)
      ? value.map((one, i) => [i, one])
      : Object.entries(value)
    for (const [part, one] of entries) {
      line++
      walk(one, [...path, part])
    }
    if (entries.length > 0) line++
  }
  walk(whole, [])
  return places
}

describe('the path of a field', () => {
  it('joins names with dots and numbers in brackets', () => {
    expect(fieldPath(['a', 0, 'b', 2, 3])).toBe('a[0].b[2][3]')
    expect(fieldPath([0, 'a'])).toBe('[0].a')
  })
})
