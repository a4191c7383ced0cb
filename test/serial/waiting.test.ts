import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { Alarm, Waiting } from '../../main/serial/waiting.ts'

beforeEach(() => void vi.useFakeTimers())
afterEach(() => void vi.useRealTimers())
const nowMs = () => Date.now()

describe('an alarm', () => {
  it('rings once at its time, and not for one that was moved or taken back', () => {
    const ring = vi.fn()
    const alarm = new Alarm(nowMs, ring)
    alarm.set(nowMs() + 100)
    alarm.set(nowMs() + 300)
    vi.advanceTimersByTime(299)
    expect(ring).not.toHaveBeenCalled()
    vi.advanceTimersByTime(2)
    expect(ring).toHaveBeenCalledTimes(1)
    alarm.set(nowMs() + 100)
    alarm.unset()
    vi.advanceTimersByTime(1000)
    expect(ring).toHaveBeenCalledTimes(1)
  })

  it('moved to an earlier time rings then', () => {
    const ring = vi.fn()
    const alarm = new Alarm(nowMs, ring)
    alarm.set(nowMs() + 10_000)
    alarm.set(nowMs() + 20)
    vi.advanceTimersByTime(21)
    expect(ring).toHaveBeenCalledTimes(1)
  })

  it('keeps one timer while deadlines move on, and none after its end', () => {
    const alarm = new Alarm(nowMs, () => {})
    for (let i = 0; i < 100; i++) alarm.set(nowMs() + 15_000 + i)
    expect(vi.getTimerCount()).toBe(1)
    alarm.end()
    expect(vi.getTimerCount()).toBe(0)
  })
})

describe('a wait', () => {
  it('looks each time that something happens, and ends with the first result', async () => {
    const waiting = new Waiting<string>(nowMs)
    let there: string | undefined
    const look = vi.fn(() => there)
    const result = waiting.until(look, nowMs() + 1000, () => 'overdue')
    waiting.wake()
    there = 'found'
    waiting.wake()
    waiting.wake()
    expect(await result).toBe('found')
    expect(look).toHaveBeenCalledTimes(2)
    vi.advanceTimersByTime(2000)
  })

  it('ends when its time is over, and with what a look throws', async () => {
    const waiting = new Waiting<string>(nowMs)
    const overdue = waiting.until(
      () => undefined,
      nowMs() + 1000,
      () => 'overdue',
    )
    vi.advanceTimersByTime(1001)
    expect(await overdue).toBe('overdue')
    const twice = waiting.until(
      () => undefined,
      nowMs() + 1000,
      () =>
        waiting.until(
          () => 'after all',
          nowMs() + 10,
          () => 'overdue',
        ),
    )
    vi.advanceTimersByTime(1001)
    waiting.wake()
    expect(await twice).toBe('after all')
    const thrown = waiting.until(
      () => {
        throw new Error('stopped')
      },
      nowMs() + 1000,
      () => 'overdue',
    )
    waiting.wake()
    await expect(thrown).rejects.toThrow('stopped')
  })
})
