import { describe, expect, it } from 'vitest'
import { EagerListening, LEFT_OUT_FIRST, LEFT_OUT_MOST, LOOK_MS } from '../../main/serial/eager-listening.ts'

/** Each look takes 10 µs; the answer comes so long after the looking began. */
function bench(latencyMs: number) {
  let nowMs = 0
  let spentMs = 0
  const eager = new EagerListening(latencyMs, () => nowMs)
  return {
    spentMs: () => spentMs,
    turn(answerAfterMs: number): boolean {
      const fromMs = nowMs
      const hit = eager.look(() => {
        nowMs += 0.01
        return nowMs - fromMs >= answerAfterMs
      })
      spentMs += nowMs - fromMs
      return hit
    },
  }
}

describe('looking for an answer for a moment', () => {
  it('hears one that comes in time, every time', () => {
    const { turn } = bench(0)
    for (let i = 0; i < 1000; i++) expect(turn(LOOK_MS / 2)).toBe(true)
  })

  it('is never done where an adapter holds answers back', () => {
    const { turn, spentMs } = bench(1)
    for (let i = 0; i < 100; i++) expect(turn(0)).toBe(false)
    expect(spentMs()).toBe(0)
  })

  it('is given up where answers take longer: ten thousand of them cost no more than four milliseconds', () => {
    const { turn, spentMs } = bench(0)
    for (let i = 0; i < 10_000; i++) expect(turn(10)).toBe(false)
    expect(spentMs()).toBeLessThan(20 * (LOOK_MS + 0.01))
    expect(LEFT_OUT_MOST).toBeGreaterThan(LEFT_OUT_FIRST)
  })

  it('is found to be worth it again where answers become fast', () => {
    const { turn } = bench(0)
    for (let i = 0; i < 100; i++) turn(10)
    let left = 0
    while (!turn(0.05)) left++
    expect(left).toBeLessThanOrEqual(LEFT_OUT_MOST)
    for (let i = 0; i < 100; i++) expect(turn(0.05)).toBe(true)
  })
})
