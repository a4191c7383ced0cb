import { describe, expect, it } from 'vitest'
import { factsOfWrite, WHOLE } from '../../shared/experience/write-facts.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'

const head = (ending: 'done' | 'failed' | 'cancelled' | 'interrupted') =>
  ({ typeId: 'aldwick-wren-6', dialect: 'preflash-bus', ending, startedAtMs: 1_000 }) as const
const timed = (events: readonly LogEvent[]) =>
  events.map((event, i) => ({ seq: i + 1, atMs: 1_000 + (i + 1) * 2_000, event }))
const opened: LogEvent = { kind: 'effect', effect: 'line', text: 'Open A' }
const phase = (name: 'identify' | 'erase' | 'write' | 'verify', attempt: number): LogEvent => ({
  kind: 'phase',
  phase: name,
  attempt,
})
const failed = (attempt: number): LogEvent => ({
  kind: 'attempt-failed',
  attempt,
  code: 'lost-contact',
  text: 'It stopped answering.',
})
const through = (attempt: number) => [
  phase('identify', attempt),
  phase('erase', attempt),
  phase('write', attempt),
]

describe('what a write through a programmer tells', () => {
  it('is that the first attempt worked, and how long all of it took', () => {
    expect(factsOfWrite(head('done'), timed([opened, ...through(1), phase('verify', 1)]))).toEqual({
      typeId: 'aldwick-wren-6',
      way: 'preflash-bus',
      first: 'worked',
      second: null,
      times: { [WHOLE]: 10_000 },
      secondTry: null,
    })
  })

  it('is that the second worked by itself, with what the session knows', () => {
    const facts = factsOfWrite(head('done'), timed([opened, ...through(1), failed(1), ...through(2)]))
    expect(facts).toMatchObject({ first: 'failed', second: 'worked', times: {} })
    expect(facts.secondTry).toEqual({
      symptom: 'stops',
      route: 'cable',
      answers: { 'receiver-named': 'yes' },
    })
  })

  it('is that both failed', () => {
    const facts = factsOfWrite(
      head('failed'),
      timed([opened, ...through(1), failed(1), ...through(2), failed(2)]),
    )
    expect(facts).toMatchObject({ first: 'failed', second: 'failed', times: {}, secondTry: null })
  })

  it.each(['cancelled', 'interrupted', 'failed'] as const)(
    'is nothing where it was %s before an attempt failed',
    end => {
      expect(factsOfWrite(head(end), timed([opened, ...through(1)]))).toMatchObject({
        first: null,
        second: null,
        times: {},
        secondTry: null,
      })
    },
  )

  it('is that the first failed where the second was cancelled', () => {
    const facts = factsOfWrite(
      head('cancelled'),
      timed([opened, ...through(1), failed(1), phase('identify', 2)]),
    )
    expect(facts).toMatchObject({ first: 'failed', second: null, secondTry: null })
  })

  it('is no time where the session stood still for hours, or has no event at all', () => {
    const [one] = timed([opened])
    expect(factsOfWrite(head('done'), [{ ...one, atMs: 5 * 3_600_000 }]).times).toEqual({})
    expect(factsOfWrite(head('done'), []).times).toEqual({})
  })
})
