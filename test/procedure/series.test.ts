import { describe, expect, it } from 'vitest'
import type { Effect, EffectResult, Series } from '../../shared/procedure/effects.ts'
import { oneByOne } from '../../shared/procedure/series.ts'

/** @param answers what each message is answered with; undefined is silence */
function carriedOut(messages: readonly number[], answers: readonly (number | undefined)[]) {
  const order: string[] = []
  const left = [...messages]
  const came = [...answers]
  const series: Series = {
    do: 'series',
    next: () => {
      const message = left.shift()
      order.push(`made ${message ?? 'no more'}`)
      return message === undefined ? undefined : Uint8Array.of(message)
    },
    until: got => got.length,
    timeoutMs: 50,
    wentOn: ([answer]) => (answer === 6 ? { kind: 'progress', done: 1, total: 2 } : undefined),
  }
  const answer = (effect: Effect): EffectResult => {
    order.push(effect.do === 'send' ? `sent ${effect.octets[0]}` : effect.do)
    if (effect.do !== 'receive') return { got: 'done' }
    expect(effect.timeoutMs).toBe(50)
    const said = came.shift()
    return said === undefined ? { got: 'timeout' } : { got: 'octets', octets: Uint8Array.of(said) }
  }
  return { result: oneByOne(series, answer), order }
}

describe('a series, one by one', () => {
  it('makes each message before the answer to the last is heard, and is done with the last', () => {
    expect(carriedOut([1, 2], [6, 6])).toEqual({
      result: { got: 'done' },
      order: [
        ...['made 1', 'sent 1', 'made 2', 'receive', 'say'],
        ...['sent 2', 'made no more', 'receive', 'say'],
      ],
    })
  })

  it('ends with the first answer that was not hoped for', () => {
    const { result, order } = carriedOut([1, 2, 3], [6, 21])
    expect(result).toEqual({ got: 'octets', octets: Uint8Array.of(21) })
    expect(order.at(-1)).toBe('receive')
    expect(order).not.toContain('sent 3')
  })

  it('ends where nothing is answered', () => {
    expect(carriedOut([1, 2], [undefined]).result).toEqual({ got: 'timeout' })
  })

  it('is nothing where there is no message', () => {
    expect(carriedOut([], [])).toEqual({ result: { got: 'done' }, order: ['made no more'] })
  })
})
