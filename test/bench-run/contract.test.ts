import { describe, expect, it } from 'vitest'
import { dialectsMethods } from '../../shared/api/dialects.ts'
import { writeEvents, writeMethods } from '../../shared/api/write.ts'
import { cautionAnswersSchema, PRECONDITIONS, preconditionSchema } from '../../shared/bench-run/check.ts'
import { writeStepSchema } from '../../shared/bench-run/lane.ts'
import { WRITE_STEPS } from '../../shared/bench-run/steps.ts'
import { PHASES } from '../../shared/sim/trace.ts'
import { writePlan } from '../support/write-plan.ts'

describe('the contract of writing', () => {
  it('takes a check without answers, and no start without them', () => {
    const plan = writePlan()
    expect(writeMethods['write.check'].request.parse({ plan }).cautions).toEqual({})
    expect(writeMethods['write.start'].request.safeParse({ plan }).success).toBe(false)
    expect(writeMethods['write.start'].request.safeParse({ plan, cautions: {}, force: true }).success).toBe(
      false,
    )
  })

  it('has a step for each phase of a procedure, and the two around them', () => {
    expect(WRITE_STEPS).toEqual(['open', 'pause', ...PHASES])
    expect(writeStepSchema.safeParse('write').success).toBe(true)
  })

  it('bounds what comes from outside', () => {
    const many = Object.fromEntries(Array.from({ length: 31 }, (_, i) => [`q${i}`, 'yes']))
    expect(cautionAnswersSchema.safeParse(many).success).toBe(false)
    expect(dialectsMethods['dialects.save'].request.safeParse({ text: 'x'.repeat(200_001) }).success).toBe(
      false,
    )
  })

  it('tells a precondition as held, not held, or not known', () => {
    for (const id of PRECONDITIONS)
      expect(
        preconditionSchema.parse({ id, claim: 'It is so.', holds: 'unknown', why: [], cure: null }).holds,
      ).toBe('unknown')
  })

  it('tells lanes and batches unasked', () => {
    expect(Object.keys(writeEvents)).toEqual(['write.lane', 'write.batch'])
  })
})
