import { describe, expect, it } from 'vitest'
import { readNumber, writeNumber } from '../../../renderer/ui/Field.tsx'

describe('numbers as people type them', () => {
  it.each([
    ['5', 5],
    [' 5.25 ', 5.25],
    ['3,5', 3.5],
    ['-98', -98],
    ['0x08004000', 0x0800_4000],
    ['', undefined],
    ['  ', undefined],
    ['five', 'five'],
    ['1,000,000', '1,000,000'],
    ['1e999', '1e999'],
  ])('reads “%s”', (text, value) => {
    expect(readNumber(text)).toBe(value)
  })

  it.each([0, 1, 5.25, -98, 1e-7, 0xffff_ffff, 0.1 + 0.2])('reads back %d as it was written', value => {
    expect(readNumber(writeNumber(value))).toBe(value)
    if (Number.isInteger(value) && value >= 0) expect(readNumber(writeNumber(value, true))).toBe(value)
  })

  it('writes addresses as data sheets do, and leaves what is no number as it was typed', () => {
    expect(writeNumber(0x0800_4000, true)).toBe('0x8004000')
    expect(writeNumber('five', true)).toBe('five')
    expect(writeNumber(undefined)).toBe('')
  })
})
