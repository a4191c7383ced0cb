import { describe, expect, it } from 'vitest'
import { LineClock } from '../../main/serial/line-clock.ts'

const settings = { baud: 10_000, parity: 'none', stopBits: 1 } as const

describe('when the line is free', () => {
  it('is when the octets have left, by rate and bits, one send after the other', () => {
    const clock = new LineClock()
    expect(clock.sent(100, settings, 1000)).toBe(1000)
    expect(clock.freeAtMs).toBe(1100)
    expect(clock.sent(100, settings, 1050)).toBe(1100)
    expect(clock.freeAtMs).toBe(1200)
    expect(clock.sent(1, settings, 5000)).toBe(5000)
  })

  it('does not run away on a port that is faster than its rate', () => {
    const clock = new LineClock()
    for (let nowMs = 0; nowMs < 1000; nowMs++) {
      clock.sent(1000, settings, nowMs)
      clock.heard(nowMs)
    }
    expect(clock.freeAtMs).toBeLessThanOrEqual(999 + 1000)
    for (let i = 0; i < 1000; i++) clock.sent(1000, settings, 1000)
    // Without an answer it is bounded by what system and adapter can hold.
    expect(clock.freeAtMs).toBeLessThanOrEqual(1000 + 8192 + 1000)
  })
})
