import { describe, expect, it } from 'vitest'
import { strangersIn } from '../../shared/diagnose/names.ts'
import { diagnosisRequestSchema } from '../../shared/diagnose/report.ts'

const asked = { answers: {}, confirmed: [], tried: [], putOff: [] }

describe('names in a request', () => {
  it('that belong to nothing are told with their field and what may have been meant', () => {
    const problems = strangersIn({
      answers: { 'module-on': 'yes', 'modul-on': 'no' },
      confirmed: ['xyzzy'],
      tried: ['chaty-sensor'],
      putOff: ['receiver-dad', 'card-full'],
    })
    expect(problems.map(p => [p.code, p.field])).toEqual([
      ['diagnose.fact', 'answers'],
      ['diagnose.fact', 'confirmed'],
      ['diagnose.cause', 'tried'],
      ['diagnose.cause', 'putOff'],
    ])
    expect(problems[0]).toMatchObject({
      message: '"modul-on" is not the name of a fact.',
      remedy: expect.stringContaining('Did you mean module-on'),
    })
    expect(problems[1].expected).toContain('one of card-present')
    expect(problems[1].remedy).toBeUndefined()
    expect(problems[2].expected).toBe('one of chatty-sensor')
    expect(problems[3].remedy).toContain('receiver-dead')
  })

  it('are none where all is well, and not what is on every object', () => {
    expect(strangersIn({ ...asked, answers: { 'line-quiet': 'no' }, tried: ['card-full'] })).toEqual([])
    const odd = JSON.parse('{ "constructor": "no" }')
    expect(strangersIn({ ...asked, answers: odd })).toHaveLength(1)
    expect(diagnosisRequestSchema.shape.putOff.parse(undefined)).toEqual([])
  })
})
