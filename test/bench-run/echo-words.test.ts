import { describe, expect, it } from 'vitest'
import { type EchoSeen, echoWords } from '../../shared/bench-run/echo-words.ts'

const words = (expected: boolean, seen: EchoSeen, code: string | null = 'no-answer') =>
  echoWords({ expected, seen }, { outcome: 'failed', code })

describe('what an echo tells of a write that did not go through', () => {
  it('an echo was expected, and only answers came', () => {
    expect(words(true, 'answers-only')).toMatch(
      /does not echo what we say, or something else talks.*unplug sensors.*--echo no/,
    )
  })
  it('an echo was expected, and nothing came at all', () => {
    expect(words(true, 'silence')).toMatch(/Not even what we say came back/)
  })
  it('an echo was expected and came, and nothing else', () => {
    expect(words(true, 'came-back')).toMatch(/its end of the wire are sound/)
    expect(words(true, 'came-back', 'refused')).toBe('')
  })
  it('no echo was expected, and one came', () => {
    expect(words(false, 'came-back', 'lost-contact')).toMatch(/The line echoes what we say.*--echo yes/)
  })
  it('says nothing where the line is as it should be, or the end has nothing to do with it', () => {
    expect(words(false, 'answers-only')).toBe('')
    expect(words(false, 'not-known')).toBe('')
    expect(words(true, 'not-known')).toBe('')
    expect(words(true, 'answers-only', 'verify-differs')).toBe('')
    expect(echoWords({ expected: true, seen: 'silence' }, { outcome: 'cancelled', code: 'no-answer' })).toBe(
      '',
    )
    expect(echoWords({ expected: false, seen: 'came-back' }, { outcome: 'unproven', code: null })).toBe('')
  })
})
