import { describe, expect, it } from 'vitest'
import { lineNearPath } from '../../shared/sheet/json-place.ts'

const text = `{
  "a": [
    1,
    { "b\\"c": "x, ] }",
      "d": null }
  ],
  "a.b": 2,
  "e": 1, "e": {
    "f": true
  }
}`

describe('the line of a value in a JSON text', () => {
  it.each([
    [[], 1],
    [['a'], 2],
    [['a', 0], 3],
    [['a', 1], 4],
    [['a', 1, 'b"c'], 4],
    [['a', 1, 'd'], 5],
    [['a.b'], 7],
    [['e', 'f'], 9],
  ])('%j is on line %i', (path, line) => expect(lineNearPath(text, path)).toBe(line))

  it('of what is missing is that of the group around it', () => {
    expect(lineNearPath(text, ['a', 1, 'zz'])).toBe(4)
    expect(lineNearPath(text, ['a', 9, 'zz'])).toBe(2)
    expect(lineNearPath(text, ['zz', 'y'])).toBe(1)
  })

  it('bears any text, also one that is not JSON', () => {
    for (const bad of ['', '{', ']]]', '"', '{"a":', ',,,', '{"\\uZZ":1}'])
      expect(lineNearPath(bad, ['a'])).toBeGreaterThanOrEqual(1)
  })
})
