import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lineOfJsonError } from '../../shared/model/json-line.ts'

const engineTakes = (text: string) => {
  try {
    JSON.parse(text)
    return true
  } catch {
    return false
  }
}

describe('the line on which a text stops being JSON', () => {
  it.each([
    ['{\n"a": 1,\n"b": tru\n}', 3],
    ['{\n"a": 1\n"b": 2}', 3],
    ['{"a": 1,\n}', 2],
    ['[1,\n2,\n', 2],
    ['', 1],
    ['{"a": 1}\n\nx', 3],
    ['{"a": "line\nbreak"}', 1],
    ["{'a': 1}", 1],
    ['[1]]', 1],
    ['[\n1}', 2],
    ['{"a": 01}', 1],
    ['{\n"a\\q": 1}', 2],
  ])('%j: %d', (text, line) => expect(lineOfJsonError(text)).toBe(line))

  // The engine's own parser, ECMA-262 JSON.parse, decides what is JSON.
  it('finds an error exactly where JSON.parse does', () => {
    const bits = fc.constantFrom(
      '{',
      '}',
      '[',
      ']',
      ',',
      ':',
      '"a"',
      '"',
      '1',
      '-',
      '0.5e3',
      'null',
      ' ',
      '\n',
      '\\',
      'é',
    )
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string({ unit: bits, maxLength: 12 }),
          fc.json().map(t => `${t} `),
        ),
        text => {
          expect(lineOfJsonError(text) === undefined).toBe(engineTakes(text))
        },
      ),
      { numRuns: 5000 },
    )
  })

  it('finds the line in a text that was broken in one place', () => {
    fc.assert(
      fc.property(fc.array(fc.integer(), { minLength: 2, maxLength: 50 }), fc.nat(), (list, pick) => {
        const lines = JSON.stringify(list, null, 1).split('\n')
        const at = 1 + (pick % list.length)
        lines[at] = ` ?${lines[at]}`
        expect(lineOfJsonError(lines.join('\n'))).toBe(at + 1)
      }),
    )
  })

  it('gets through long texts', () => {
    expect(
      lineOfJsonError(`${' '.repeat(8_000_000)}"${'\\n'.repeat(1_000_000)}${'x'.repeat(4_000_000)}"`),
    ).toBeUndefined()
    expect(lineOfJsonError('['.repeat(4_000_000))).toBe(1)
  })
})
