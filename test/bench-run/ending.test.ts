import { describe, expect, it } from 'vitest'
import { endingOf } from '../../shared/bench-run/ending.ts'
import type { ReceiverState, WriteEnd, WriteFailure } from '../../shared/dialect/plan.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'

const failed = (code: WriteFailure, state: ReceiverState): WriteEnd => ({
  ...{ ended: 'failed', code, state, text: 'The receiver does not answer.', attempts: 2, retries: 1 },
  proof: { verified: 'none', started: false, identified: false },
  ...{ identity: undefined, backup: undefined },
})

const ENTERED: LogEvent[] = [
  { kind: 'effect', effect: 'line', text: 'Take the line' },
  { kind: 'effect', effect: 'enter', text: 'Go into the boot loader' },
]
const WROTE: LogEvent = {
  kind: 'effect',
  effect: 'write',
  offset: 0,
  bytes: 128,
  text: 'Write 128 octets from 0 on',
}

const next = (code: WriteFailure, state: ReceiverState, log = ENTERED) =>
  endingOf({
    ended: { how: 'returned', end: failed(code, state) },
    ...{ log, backupFile: null, seconds: 3, afterwards: [] },
  }).nextWords

describe('what comes next after a write', () => {
  it('does not promise that a receiver starts which has said nothing', () => {
    expect(next('no-answer', 'as-before')).toMatch(/^See to that, and write again\./)
    expect(next('no-answer', 'as-before')).not.toMatch(/starts as it did/)
  })

  it('is what the receiver holds where that is known', () => {
    expect(next('not-supported', 'as-before')).toMatch(/it starts as it did before/)
    expect(next('lost-contact', 'partly-written', [...ENTERED, WROTE])).toMatch(
      /^Write the image again from the start/,
    )
  })
})
