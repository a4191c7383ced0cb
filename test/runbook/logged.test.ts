import { describe, expect, it } from 'vitest'
import { fromLogged, toLogged } from '../../shared/runbook/logged.ts'
import type { RunAnswer } from '../../shared/runbook/state.ts'
import { smallRequest } from '../support/small-bench.ts'
import { runbookOf } from './fixture.ts'

const runbook = runbookOf(smallRequest())

describe('answers in the logbook', () => {
  it('come back as they were given', () => {
    const base = { step: 'watch', atMs: 5 }
    const all: RunAnswer[] = [
      ...(
        ['saw', 'unsure', 'back', 'diagnose', 'again', 'helped', 'not-that', 'stop', 'resume', 'end'] as const
      ).map(said => ({ ...base, said })),
      { ...base, said: 'again', repaired: ['slow-settle'] },
      { ...base, said: 'again', repaired: ['image-wrong-type', 'image-damaged'], isOneOf: true },
      { ...base, said: 'saw', repaired: ['image-wrong-type', 'image-damaged'], isOneOf: true },
      { ...base, said: 'other', other: 0 },
      { ...base, said: 'other', other: 20 },
    ]
    for (const answer of all) expect(fromLogged(toLogged(runbook, answer), 5)).toEqual(answer)
  })

  it('say in words what was done, and what was seen instead', () => {
    const { text } = toLogged(runbook, { step: 'watch', said: 'other', other: 0, atMs: 1 })
    expect(text).toMatch(/Let the radio write.* Seen instead: It started, and stopped on the way/)
    const again = { step: 'watch', said: 'again', repaired: ['card-not-seated'], atMs: 1 } as const
    expect(toLogged(runbook, { ...again, repaired: [...again.repaired] }).text).toMatch(
      /Let the radio write.* Advised before: Push the card in until it clicks/,
    )
    expect(toLogged(runbook, { step: 'nothing', said: 'saw', atMs: 1 }).text).toBe('')
  })

  it('leave a list out that could not be read again', () => {
    const base = { step: 'watch', said: 'again', atMs: 1 } as const
    for (const repaired of [['a b'], Array(20).fill('x'.repeat(60))])
      expect(toLogged(runbook, { ...base, repaired }).said).toBe('again')
  })

  it.each([
    { kind: 'note' },
    { kind: 'answer', to: 'watch', said: 'perhaps' },
    { kind: 'answer', to: 'watch', said: 'other 99' },
    { kind: 'answer', to: 'watch', said: 'other 999' },
    { kind: 'answer', to: '', said: 'saw' },
    { kind: 'answer', to: 'watch' },
  ])('pass over what is none: %o', event => {
    expect(fromLogged(event, 1)).toBeUndefined()
  })
})
