import { describe, expect, it } from 'vitest'
import { endingOf } from '../../shared/bench-run/ending.ts'
import type { ReceiverState, WriteEnd, WriteFailure } from '../../shared/dialect/plan.ts'

const failed = (code: WriteFailure, state: ReceiverState): WriteEnd => ({
  ...{ ended: 'failed', code, state, text: 'The receiver does not answer.', attempts: 2, retries: 1 },
  proof: { verified: 'none', started: false, identified: false },
  ...{ identity: undefined, backup: undefined },
})

const next = (code: WriteFailure, state: ReceiverState) =>
  endingOf({
    ended: { how: 'returned', end: failed(code, state) },
    ...{ log: [], backupFile: null, seconds: 3, afterwards: [] },
  }).nextWords

describe('what comes next after a write', () => {
  it('does not promise that a receiver starts which has said nothing', () => {
    expect(next('no-answer', 'as-before')).toMatch(/^See to that, and write again\./)
    expect(next('no-answer', 'as-before')).not.toMatch(/starts as it did/)
  })

  it('is what the receiver holds where that is known', () => {
    expect(next('not-supported', 'as-before')).not.toMatch(/See to that/)
    expect(next('lost-contact', 'partly-written')).toMatch(/^Write it again from the start/)
  })
})
