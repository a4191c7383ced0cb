import { describe, expect, it } from 'vitest'
import { percentOf, sayLeft, sayWorking } from '../../../../renderer/rehearse/working/words.ts'

const write = { phase: 'write', attempt: 1, done: 999, total: 1000 } as const

describe('words for what is being worked out', () => {
  it('names the part, the step and the attempt', () => {
    expect(sayWorking({ part: 'update', simulatedMs: 9, standing: write })).toBe('The update: Write')
    expect(sayWorking({ part: 'recovery', simulatedMs: 9, standing: { ...write, attempt: 2 } })).toBe(
      'Bringing the receiver back: Write, attempt 2',
    )
    expect(sayWorking({ part: 'update', simulatedMs: 0 })).toBe('The update is being played through.')
    expect(sayWorking(undefined)).toMatch(/simulator is starting/)
  })

  it('never says that a step is done before it is', () => {
    expect(percentOf({ part: 'update', simulatedMs: 0, standing: write })).toBe(99)
    expect(percentOf({ part: 'update', simulatedMs: 0, standing: { ...write, total: 0, done: 0 } })).toBe(
      undefined,
    )
    expect(percentOf({ part: 'update', simulatedMs: 0 })).toBe(undefined)
  })

  it('rounds the time left up, and long ones to minutes', () => {
    expect([1, 1000, 1001, 89_000, 100_000, 300_000].map(sayLeft)).toEqual([
      'about 1 s',
      'about 1 s',
      'about 2 s',
      'about 89 s',
      'about 2 min',
      'about 5 min',
    ])
  })
})
