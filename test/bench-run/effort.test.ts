import { describe, expect, it } from 'vitest'
import { effortIn, effortWords, repeatsOfRequests } from '../../shared/bench-run/effort.ts'
import { endingOf } from '../../shared/bench-run/ending.ts'
import { rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { smallRequest } from '../support/small-bench.ts'
import { planned } from '../support/write-plan.ts'

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

  it('counts a rehearsal that was cut off in its second attempt likewise: of a write', () => {
    let isSecond = false
    const done = rehearseWrite(planned(), {
      faults: [{ name: 'first-write-fails' }],
      stopBefore: effect => {
        const { event } = effect.do === 'say' ? effect : { event: undefined }
        const isHere = isSecond && effect.do === 'send'
        isSecond ||= event?.kind === 'phase' && event.attempt === 2
        return isHere
      },
    })
    if (!done.ok) throw new Error(done.problems[0].message)
    const { end, rehearsed, events } = done.value
    expect(end).toBeUndefined()
    expect(rehearsed.attempts).toBe(2)
    expect(rehearsed.retries).toBe(events.filter(event => event.kind === 'retry').length + 1)
  })

  it('and of an update by the radio, whose battery is empty in the middle of it', () => {
    const request = smallRequest()
    const [type] = request.bench.catalogue.radioTypes
    const startVolts = 7.5
    // 0.25 V a minute: 0.016 V above where it switches itself off are some 4 s, as the second attempt erases.
    const cutOffVolts = startVolts - 0.18 * type.battery.internalOhms - 0.016
    const radioTypes = [{ ...type, battery: { ...type.battery, cutOffVolts } }]
    const bench = { ...request.bench, catalogue: { ...request.bench.catalogue, radioTypes } }
    const faults = [
      { name: 'slow-settle' },
      { name: 'radio-battery-low', value: String(startVolts) },
    ] as const
    const done = rehearse({ ...request, bench, faults: [...faults] })
    if (!done.ok) throw new Error(done.problems[0].message)
    const { attempts, retries, events } = done.value.report
    expect(events.at(-1)?.text).toContain('lost its power')
    expect(attempts).toBe(2)
    expect(retries).toBe(events.filter(event => event.kind === 'retry').length + 1)
  })

  it('of what was broken off before its first attempt is nothing', () => {
    expect(effortIn([])).toEqual({ attempts: 0, retries: 0 })
  })
})
