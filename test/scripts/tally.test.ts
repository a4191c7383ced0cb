import { describe, expect, it } from 'vitest'
import { sayTally, tallyReport } from '../../main/scripts/tally.mjs'

const file = (status: string, ...tests: string[]) => ({
  status,
  assertionResults: tests.map(test => ({ status: test })),
})

describe('the count of a test run', () => {
  it('takes each kind from the report', () => {
    const report = {
      testResults: [file('passed', 'passed', 'passed', 'skipped'), file('failed', 'failed', 'todo')],
    }
    expect(tallyReport(report)).toEqual({ passed: 2, failed: 1, skipped: 2 })
  })

  it('counts a file whose tests could not even start as a failure', () => {
    expect(tallyReport({ testResults: [file('failed'), file('failed', 'passed')] })).toEqual({
      passed: 1,
      failed: 2,
      skipped: 0,
    })
  })

  it('is said in one line, skipped ones only when there are any', () => {
    expect(sayTally({ passed: 12, failed: 0, skipped: 0 })).toBe('12 passed, 0 failed')
    expect(sayTally({ passed: 12, failed: 1, skipped: 3 })).toBe('12 passed, 1 failed, 3 skipped')
  })
})
