/** Counts from vitest's JSON report. */

/**
 * @typedef {object} Tally
 * @property {number} passed
 * @property {number} failed
 * @property {number} skipped
 */

/**
 * The counts in a report. A file that could not be loaded counts as one failure, for its tests never ran.
 * @param {{ testResults: readonly { status: string, assertionResults: readonly { status: string }[] }[] }} report
 * @returns {Tally}
 */
export function tallyReport(report) {
  const tests = report.testResults.flatMap(file => file.assertionResults)
  const count = (/** @type {readonly string[]} */ states) =>
    tests.filter(test => states.includes(test.status)).length
  const broken = report.testResults.filter(
    file => file.status === 'failed' && !file.assertionResults.some(test => test.status === 'failed'),
  )
  return {
    passed: count(['passed']),
    failed: count(['failed']) + broken.length,
    skipped: count(['skipped', 'pending', 'todo', 'disabled']),
  }
}

/**
 * The closing line.
 * @param {Tally} tally
 */
export function sayTally({ passed, failed, skipped }) {
  return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`
}
