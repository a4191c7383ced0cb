import { describe, expect, it } from 'vitest'
import { fileNameFor } from '../../../../renderer/rehearse/outcome/save.ts'
import {
  inOrderOfWeight,
  outcomeMarks,
  sayDuration,
  sayFlash,
} from '../../../../renderer/rehearse/outcome/words.ts'
import { OUTCOMES } from '../../../../shared/procedure/effects.ts'
import { fixtureReport, fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const report = fixtureReport(fixtureTrace({ imageBytes: 2048 }), false)

describe('the outcome in words', () => {
  it('has a word and a shape of its own for each', () => {
    expect(new Set(OUTCOMES.map(o => outcomeMarks[o].word)).size).toBe(OUTCOMES.length)
    expect(new Set(OUTCOMES.map(o => outcomeMarks[o].mark)).size).toBe(OUTCOMES.length)
  })

  it('puts rules that do not hold first, and blocks before warnings', () => {
    const of = (rule: string, holds: 'yes' | 'no' | 'unknown', severity: 'block' | 'warn') => ({
      ...report.findings[0],
      rule,
      holds,
      severity,
    })
    const sorted = inOrderOfWeight([
      of('a', 'yes', 'block'),
      of('b', 'unknown', 'warn'),
      of('c', 'no', 'warn'),
      of('d', 'no', 'block'),
      of('e', 'unknown', 'warn'),
    ])
    expect(sorted.map(f => f.rule)).toEqual(['d', 'c', 'b', 'e', 'a'])
  })

  it('says what the flash holds', () => {
    expect(sayFlash(report)).toContain('equals the image, all 262,144 octets')
    expect(sayFlash({ ...report, flashEqualsImage: false, outcome: 'needs-cable' })).toContain('differs')
    expect(sayFlash({ ...report, flashEqualsImage: false, outcome: 'unchanged' })).toContain(
      'does not hold this image',
    )
  })

  it.each([
    [1234, '1.23 s'],
    [56_794, '56.8 s'],
    [125_000, '2 min 5 s'],
    [179_900, '3 min 0 s'],
  ])('says %i ms as %s', (ms, words) => {
    expect(sayDuration(ms)).toBe(words)
  })

  it('names files after what was rehearsed', () => {
    expect(fileNameFor(report, 'report.json')).toBe('rehearsal-wren-trainer-cable-seed-1-report.json')
  })
})
