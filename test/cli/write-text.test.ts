import { describe, expect, it } from 'vitest'
import { ProgressTeller } from '../../main/cli/write-progress.ts'
import { effortText, endingText } from '../../main/cli/write-text.ts'
import type { LaneReport } from '../../shared/bench-run/lane.ts'
import { type ReceiverState, receiverStateWords } from '../../shared/dialect/plan.ts'
import { ending, lane } from '../support/write-lane.ts'

const NOBODY = { sessionId: 's-1', receiverId: undefined, again: undefined }
const inState = (state: ReceiverState) => ({
  state,
  stateWords: receiverStateWords[state].is,
  nextWords: receiverStateWords[state].next,
})
/** Sentences that are there more than once, whatever introduces them. */
const twice = (text: string): string[] => {
  const sentences = text.split(/\n|(?<=[.:]) /).filter(sentence => sentence.endsWith('.'))
  return sentences.filter((sentence, i) => sentences.indexOf(sentence) < i)
}

describe('the end of a write, in words', () => {
  it('says once that the image was accepted, and what to do', () => {
    const end = ending({
      ...{ outcome: 'unproven', ...inState('written-not-proven') },
      proof: { verified: 'none', started: false, identified: false },
    })
    const text = endingText(end, NOBODY)
    expect(text).toMatch(
      /^SENT AND ACCEPTED, but not proven: .*\nNot verified: .*\nNext: Switch the receiver off/,
    )
    expect(text.match(/did not show/g)).toHaveLength(1)
    expect(twice(text)).toEqual([])
  })

  it('says what the receiver holds where it did not go through', () => {
    const gone = 'The port has gone: its cable was pulled.'
    const end = ending({ outcome: 'port-lost', text: gone, ...inState('partly-written') })
    const text = endingText(end, { ...NOBODY, again: 'preflash write --recovers s-1' })
    expect(text).toMatch(
      /^BROKEN OFF\.\nThe port has gone: .*\nNow: The receiver holds the image only partly, .*\.\nNext: Write it again .*\nTo put it right: preflash write/,
    )
    expect(text.match(/port has gone/gi)).toHaveLength(1)
  })

  it.each([
    [{ seconds: 45.44, attempts: 1, retries: 0 }, 'It took 45.4 s.'],
    [{ seconds: 66.4, attempts: 1, retries: 1 }, 'It took 66.4 s. Something had to be repeated once.'],
    [{ seconds: 9, attempts: 2, retries: 1 }, 'It took 9.0 s, in 2 attempts.'],
    [
      { seconds: 9, attempts: 2, retries: 3 },
      'It took 9.0 s, in 2 attempts. Something had to be repeated 2 times.',
    ],
    [
      { seconds: 130.3, attempts: 1, retries: 71 },
      'It took 130.3 s. Something had to be repeated 71 times. That is often: look at plugs and cable before you write with them again.',
    ],
    [{ seconds: 0.1, attempts: 0, retries: 0 }, 'It took 0.1 s.'],
  ])('says what it took: %j', (effort, text) => {
    expect(effortText(effort)).toBe(text)
  })
})

describe('what is told on the way', () => {
  const told = (reports: readonly LaneReport[], isTTY = false): string => {
    let text = ''
    const teller = new ProgressTeller({ isTTY, write: said => (text += said) })
    for (const report of reports) teller.tell(report)
    return text
  }
  const silence = { atMs: 5, level: 'danger', text: 'The receiver does not answer.' } as const
  const wait = { atMs: 5, level: 'caution', text: 'Waiting, then trying once more from the start.' } as const
  const writing: Partial<LaneReport> = { step: 'write', attempt: 1, end: null, notes: [] }

  it('leaves to the end why the last attempt failed, and names no next one', () => {
    const paused: Partial<LaneReport> = { ...writing, step: 'pause', notes: [silence] }
    const end = ending({ outcome: 'failed', text: 'The receiver does not answer. Look whether it is on.' })
    const text = told([lane(writing), lane(paused), lane({ ...paused, end })])
    expect(text).toContain('Write')
    expect(text).not.toMatch(/does not answer|next attempt/)
  })

  it('says it where another attempt follows, in its order, and nothing twice', () => {
    const paused: Partial<LaneReport> = { ...writing, step: 'pause', notes: [silence] }
    const waiting: Partial<LaneReport> = { ...paused, notes: [silence, wait] }
    const again: Partial<LaneReport> = { ...waiting, step: 'write', attempt: 2 }
    const end = ending({ outcome: 'failed', text: 'The port has gone.' })
    const text = told([writing, paused, waiting, again, { ...again, end }].map(report => lane(report)))
    expect(text.match(/.*(does not answer|once more|attempt 2).*/g)?.map(line => line.trim())).toEqual([
      silence.text,
      wait.text,
      expect.stringMatching(/Write \(attempt 2\)/),
    ])
  })

  it('says what was noted before a step began before that step, however much has gone by meanwhile', () => {
    const steps: LaneReport['steps'] = [
      { step: 'write', attempt: 1, startMs: 0, endMs: 1000 },
      { step: 'pause', attempt: 1, startMs: 1000, endMs: 3500 },
      { step: 'enter', attempt: 2, startMs: 3500, endMs: 3600 },
      { step: 'erase', attempt: 2, startMs: 3600, endMs: null },
    ]
    const late = { atMs: 3700, level: 'caution', text: 'The wire was disturbed.' } as const
    const notes = [{ ...silence, atMs: 1000 }, { ...wait, atMs: 1000 }, late]
    const text = told([lane(writing), lane({ step: 'erase', attempt: 2, steps, notes })])
    const lines = text.split('\n').map(line => line.trim())
    expect(lines.slice(-5, -1)).toEqual([silence.text, wait.text, 'Erase (attempt 2)', late.text])
  })

  it('says it where the end is about something else', () => {
    const paused: Partial<LaneReport> = { ...writing, step: 'pause', notes: [silence] }
    const end = ending({ outcome: 'cancelled', text: 'Cancelled.' })
    expect(told([lane(writing), lane(paused), lane({ ...paused, end })])).toContain(silence.text)
  })

  it('does not fill the screen where a line has noise', () => {
    const notes: LaneReport['notes'] = []
    const reports = Array.from({ length: 120 }, (_, i) => {
      notes.push({ atMs: i, level: 'caution', text: `The block was sent again (${2 + (i % 4)} of 10).` })
      return lane({ ...writing, notes: [...notes] })
    })
    const lines = told(reports).match(/sent again.*/g)
    expect(lines).toHaveLength(5)
    expect(lines?.slice(3).map(line => /the (\d+)th time/.exec(line)?.[1])).toEqual(['10', '100'])
  })

  it('changes one line at a terminal', () => {
    const text = told([lane(writing), lane({ ...writing, notes: [wait] })], true)
    expect(text).toMatch(/^\r[^\n]*Write[^\n]*\r[^\n]*\n {2}Waiting, then/)
  })
})
