import { describe, expect, it } from 'vitest'
import { effortWords, repeatsOfRequests } from '../../shared/bench-run/effort.ts'
import { endingOf } from '../../shared/bench-run/ending.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'

describe('what had to be done more than once', () => {
  it.each([
    [{ attempts: 1, retries: 0 }, '1 attempt, no repeats'],
    [{ attempts: 1, retries: 1 }, '1 attempt, 1 repeat'],
    [{ attempts: 2, retries: 1 }, '2 attempts, no repeats'],
    [{ attempts: 2, retries: 15 }, '2 attempts, 14 repeats'],
    [{ attempts: 0, retries: 0 }, 'no attempts, no repeats'],
  ])('counts no attempt among the repeats: %j', (effort, words) => {
    expect(effortWords(effort)).toBe(words)
  })

  it('counts a write that was broken off in its second attempt like one that returned', () => {
    const log: LogEvent[] = [
      { kind: 'phase', phase: 'write', attempt: 1 },
      { kind: 'retry', what: 'write', tries: 1, text: 'Asked again.' },
      { kind: 'attempt-failed', attempt: 1, code: 'lost-contact', text: 'Contact was lost.' },
      { kind: 'phase', phase: 'write', attempt: 2 },
      { kind: 'retry', what: 'write', tries: 1, text: 'Asked again.' },
      { kind: 'retry', what: 'write', tries: 1, text: 'Asked again.' },
    ]
    const ended = { how: 'cancelled', code: null, text: 'Cancelled.' } as const
    const end = endingOf({ ended, log, backupFile: null, seconds: 3, afterwards: [] })
    expect(end).toMatchObject({ attempts: 2, retries: 4 })
    expect(repeatsOfRequests(end)).toBe(3)
  })
})
