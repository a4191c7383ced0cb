import { effortWords } from '../../../shared/bench-run/effort.ts'
import type { LaneReport } from '../../../shared/bench-run/lane.ts'
import { imageWords } from '../../../shared/model/image-words.ts'
import { outcomeSaid, sayDifference, saySeconds, stepWords, verifiedWords } from './words.ts'

/** One write on paper: what was done, what came of it, and lines to sign what was checked. */

type Part = readonly [tag: 'h1' | 'h2' | 'p' | 'li', text: string]

/**
 * The sheet as plain parts, in order.
 * @param printed when, as people write it
 * @param ticked what has been done again already, by its place in the list
 */
export function sheetOf(lane: LaneReport, printed: string, ticked: readonly number[] = []): readonly Part[] {
  const { end, receiver, port, image, dialect, steps } = lane
  if (end === null) return []
  const kept: Part[] = [
    ['h1', `${receiver?.nickname ?? 'A receiver'}: ${outcomeSaid[end.outcome].word}`],
    ['p', `${imageWords(image)}, through ${port.label}.`],
    ['p', `${dialect}; ${effortWords(end)}, ${saySeconds(end.seconds * 1000)}. Printed ${printed}.`],
    ['p', end.stateWords],
  ]
  if (end.text !== '') kept.push(['p', end.text])
  kept.push(['p', `Next: ${end.nextWords}`], ['p', verifiedWords[end.proof.verified]])
  for (const { label, value } of end.identity) kept.push(['li', `${label}: ${value}`])
  if (end.backupFile !== null) kept.push(['li', `What was there before: ${end.backupFile}`])
  if (lane.sessionId !== null) kept.push(['p', `Session ${lane.sessionId} of the logbook.`])
  if (end.afterwards.length > 0) kept.push(['h2', 'To be done again before it flies'])
  for (const [i, text] of end.afterwards.entries())
    kept.push(['li', `${ticked.includes(i) ? '☑' : '☐'} ${text}`])
  if (end.afterwards.length > 0) kept.push(['p', SIGNED])
  if (lane.differs.length > 0) kept.push(['h2', 'Where it differed from the rehearsal'])
  for (const difference of lane.differs) kept.push(['li', sayDifference(difference)])
  kept.push(['h2', 'What was done'])
  for (const { step, attempt, startMs, endMs } of steps)
    kept.push([
      'li',
      `${saySeconds(startMs)}: ${stepWords[step]}${attempt > 1 ? `, attempt ${attempt}` : ''}, ${saySeconds((endMs ?? startMs) - startMs)}`,
    ])
  return kept
}

const SIGNED = 'Checked by ________________________ on ________________'

/** Opens the browser's print dialog with that sheet alone. */
export function printWrite(lane: LaneReport, ticked?: readonly number[]): void {
  const sheet = document.createElement('section')
  sheet.className = 'pg-sheet'
  for (const [tag, text] of sheetOf(lane, new Date().toLocaleString(), ticked)) {
    const part = document.createElement(tag)
    part.textContent = text
    sheet.append(part)
  }
  document.body.append(sheet)
  document.documentElement.dataset.print = 'write'
  window.addEventListener(
    'afterprint',
    () => {
      sheet.remove()
      delete document.documentElement.dataset.print
    },
    { once: true },
  )
  window.print()
}
