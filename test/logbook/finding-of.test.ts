import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { diagnose } from '../../shared/diagnose/diagnose.ts'
import { diagnosisRequestSchema } from '../../shared/diagnose/report.ts'
import { findingOf, isOneOf } from '../../shared/logbook/finding-of.ts'
import { newFindingSchema } from '../../shared/logbook/session.ts'
import { findingId } from '../support/journal.ts'

const request = diagnosisRequestSchema.parse({
  ...{ bench: demoBench(), receiverId: 'wren-trainer', symptom: 'stops', route: 'cable' },
})
const done = diagnose(request)
if (!done.ok) throw new Error('no diagnosis')
const diagnosis = done.value
const [first, second] = diagnosis.causes.map(({ members }) => members.map(m => m.id))

describe('a find', () => {
  it('holds what was it, and what was said on the way', () => {
    const finding = findingOf(findingId(), diagnosis, first, {
      answers: { 'line-quiet': 'no' },
      tried: ['a', 'a'],
    })
    expect(newFindingSchema.parse(finding)).toEqual(finding)
    expect(finding).toMatchObject({ symptom: 'stops', route: 'cable', causes: first, tried: ['a'] })
    expect(finding.isOneOf).toBe(false)
  })

  it('is one of several where those that were put right do not explain it together', () => {
    expect(isOneOf(diagnosis, [...first, ...second])).toBe(true)
    expect(isOneOf(diagnosis, first)).toBe(false)
    const together = {
      causes: [{ ...diagnosis.causes[0], members: diagnosis.causes.flatMap(c => c.members) }],
    }
    expect(isOneOf(together, together.causes[0].members.map(m => m.id).reverse())).toBe(false)
  })
})
