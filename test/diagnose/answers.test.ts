import { describe, expect, it } from 'vitest'
import { type Answered, answered, overruled } from '../../shared/diagnose/answers.ts'

const none: Answered = { answers: {}, confirmed: [] }

describe('an answer more', () => {
  it('is the first, and is confirmed by the same one at a second look', () => {
    const once = answered(none, 'module-on', 'yes')
    expect(once).toEqual({ answers: { 'module-on': 'yes' }, confirmed: [] })
    expect(answered(once, 'module-on', 'yes')).toEqual({
      answers: { 'module-on': 'yes' },
      confirmed: ['module-on'],
    })
  })

  it('leaves the fact open where a second look says otherwise, and can be given up on', () => {
    const once = answered(none, 'module-on', 'yes')
    expect(answered(once, 'module-on', 'no')).toEqual(none)
    const twice = answered(once, 'module-on', 'yes')
    expect(answered(twice, 'module-on', 'no')).toEqual(none)
    expect(answered(twice, 'module-on', 'cannot-check')).toEqual({
      answers: { 'module-on': 'cannot-check' },
      confirmed: [],
    })
  })

  it('can be overruled or taken back at any time, and is not confirmed then', () => {
    const twice = answered(answered(none, 'module-on', 'yes'), 'module-on', 'yes')
    expect(overruled(twice, 'module-on', 'no')).toEqual({ answers: { 'module-on': 'no' }, confirmed: [] })
    expect(overruled(twice, 'module-on', undefined)).toEqual(none)
  })

  it('confirms what the bench says, or goes before it', () => {
    expect(answered(none, 'module-region', 'yes', 'yes').confirmed).toEqual(['module-region'])
    expect(answered(none, 'module-region', 'no', 'yes')).toEqual({
      answers: { 'module-region': 'no' },
      confirmed: [],
    })
  })
})
