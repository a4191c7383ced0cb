import { describe, expect, it } from 'vitest'
import { descending } from '../../shared/diagnose/order.ts'
import { dice } from '../support/dice.ts'

const byPlace = (a: number, b: number) => a - b
const plain = (values: Float64Array) =>
  Array.from(values, (_, i) => i).sort((a, b) => values[b] - values[a] || a - b)

describe('places in descending order', () => {
  it('are those of a comparing sort, over many orders of magnitude and with equal values among them', () => {
    const d = dice(4, 'order')
    for (let round = 0; round < 100; round++) {
      const values = Float64Array.from({ length: round * 7 }, () =>
        d.next() < 0.3 ? 2 ** -Math.floor(d.between(0, 40)) : Math.exp(-d.between(0, 23)),
      )
      expect([...descending(values, byPlace)]).toEqual(plain(values))
    }
  })

  it('leave equal values to whoever asks, and take nothing, noughts and the smallest there are', () => {
    expect([...descending(new Float64Array(4), (a, b) => b - a)]).toEqual([3, 2, 1, 0])
    expect([...descending(new Float64Array(0), byPlace)]).toEqual([])
    const odd = Float64Array.of(0, Number.MIN_VALUE, 1, 1 - Number.EPSILON, 0)
    expect([...descending(odd, byPlace)]).toEqual([2, 3, 1, 0, 4])
  })
})
