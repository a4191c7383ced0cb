import { describe, expect, it } from 'vitest'
import { isPlausible, medianOf } from '../../shared/experience/usual.ts'

describe('the middle of some values', () => {
  it('is the value in the middle, or between the two', () => {
    expect(medianOf([])).toBeUndefined()
    expect(medianOf([7])).toBe(7)
    expect(medianOf([9, 1, 5])).toBe(5)
    expect(medianOf([10, 9, 1, 5])).toBe(7)
  })

  it('is hardly moved by one that is far off, and leaves what it is given alone', () => {
    const given = [60_000, 58_000, 61_000, 59_000, 14_400_000]
    expect(medianOf(given)).toBe(60_000)
    expect(given[0]).toBe(60_000)
  })
})

describe('how long a step took', () => {
  it.each([
    [60_000, 60_000, true],
    [6_000, 60_000, true],
    [5_999, 60_000, false],
    [600_000, 60_000, true],
    [600_001, 60_000, false],
    [3 * 3_600_000, 60_000, false],
    [60_000, 500, true],
    [60_001, 500, false],
    [0, 0, false],
    [-5_000, 60_000, false],
  ])('%d ms where %d are expected: %s', (ms, expectedMs, is) => {
    expect(isPlausible(ms, expectedMs)).toBe(is)
  })
})
