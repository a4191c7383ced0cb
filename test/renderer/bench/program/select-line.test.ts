import { describe, expect, it } from 'vitest'
import { rangeOfLine } from '../../../../renderer/bench/program/select-line.ts'

describe('a line in a text', () => {
  const text = '{\n  "name": "mine",\n\n}'
  const line = (n: number) => text.slice(...rangeOfLine(text, n))

  it('is from its first character to its last, without the break', () =>
    expect([1, 2, 3, 4].map(line)).toEqual(['{', '  "name": "mine",', '', '}']))

  it('is the nearest there is where the number names none', () =>
    expect([line(0), line(99)]).toEqual(['{', '}']))

  it('is all of a text without breaks', () => expect(rangeOfLine('abc', 1)).toEqual([0, 3]))
})
