import type { Effect, EffectResult, Series } from './effects.ts'

/**
 * A series as what it consists of, one effect behind the other, for worlds whose time does not run while they compute.
 * @param answer carries one effect out
 * @returns `done` when all messages were answered as hoped for, else the answer that was not, or the time-out
 */
export function oneByOne(series: Series, answer: (effect: Effect) => EffectResult): EffectResult {
  const { next, until, timeoutMs, wentOn } = series
  for (let octets = next(); octets !== undefined; ) {
    answer({ do: 'send', octets })
    const following = next()
    const result = answer({ do: 'receive', until, timeoutMs })
    const event = result.got === 'octets' ? wentOn(result.octets) : undefined
    if (event === undefined) return result
    answer({ do: 'say', event })
    octets = following
  }
  return { got: 'done' }
}
