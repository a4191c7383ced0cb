import { describe, expect, it } from 'vitest'
import { type Looked, looked, NOTHING_LOOKED, withLooks } from '../../../renderer/diagnose/looks.ts'
import { overruled } from '../../../shared/diagnose/answers.ts'
import type { Answer } from '../../../shared/diagnose/report.ts'

const byWrite = (known: Looked, answer: Answer, atMs: number) =>
  withLooks(known, { echo: { answer, atMs } }, 'write')
const byRun = (known: Looked, answer: Answer, atMs: number) =>
  withLooks(known, { echo: { answer, atMs } }, 'you')
const inView = (known: Looked, answer: Answer | undefined, atMs: number) =>
  looked(known, overruled(known, 'echo', answer), 'echo', atMs)
const shown = ({ answers, seenByWrite, otherwise }: Looked) => ({
  ...{ answer: answers.echo, isOfWrite: seenByWrite.includes('echo'), other: otherwise.echo },
})

describe('a fact that a write and a person have looked at', () => {
  const write = byWrite(NOTHING_LOOKED, 'yes', 1000)

  it('is of the write as long as nobody else looked', () => {
    expect(shown(write)).toEqual({ answer: 'yes', isOfWrite: true, other: undefined })
  })

  it('is what was seen later, in the run or in Diagnose, and the opposite is kept to be told', () => {
    const believed = { answer: 'no', isOfWrite: false, other: 'yes' }
    expect(shown(byRun(write, 'no', 2000))).toEqual(believed)
    expect(shown(inView(write, 'no', 2000))).toEqual(believed)
    // Handed over once more, the write is still the earlier one.
    expect(shown(byWrite(inView(write, 'no', 2000), 'yes', 1000))).toEqual(believed)
    // Written again after that, it is the write that knows.
    expect(shown(byWrite(byRun(write, 'no', 2000), 'yes', 3000))).toEqual({
      ...{ answer: 'yes', isOfWrite: true, other: 'no' },
    })
  })

  it('stays of the write where the run had looked before it', () => {
    expect(shown(byRun(write, 'no', 500))).toEqual({ answer: 'yes', isOfWrite: true, other: 'no' })
    expect(shown(byWrite(byRun(NOTHING_LOOKED, 'no', 500), 'yes', 1000))).toEqual({
      ...{ answer: 'yes', isOfWrite: true, other: 'no' },
    })
  })

  it('is the person’s where both saw the same, and nothing is disputed any more', () => {
    const same = { answer: 'yes', isOfWrite: false, other: undefined }
    expect(shown(byRun(write, 'yes', 2000))).toEqual(same)
    expect(shown(byWrite(byRun(NOTHING_LOOKED, 'yes', 500), 'yes', 1000))).toEqual(same)
    expect(shown(byRun(byRun(write, 'no', 2000), 'yes', 3000))).toEqual(same)
  })

  it('is not overruled by somebody who could not look, but by whoever says so in Diagnose', () => {
    expect(shown(byRun(write, 'cannot-check', 2000))).toEqual(shown(write))
    expect(shown(byWrite(byRun(NOTHING_LOOKED, 'cannot-check', 2000), 'yes', 1000))).toEqual(shown(write))
    expect(shown(inView(write, 'cannot-check', 2000))).toEqual({
      ...{ answer: 'cannot-check', isOfWrite: false, other: undefined },
    })
  })

  it('is open, and disputed by nobody, once it is taken back', () => {
    const back = inView(inView(write, 'no', 2000), undefined, 3000)
    expect(back).toEqual(NOTHING_LOOKED)
  })

  it('was not confirmed by a look that saw something else', () => {
    const twice = { ...byRun(NOTHING_LOOKED, 'no', 500), confirmed: ['echo', 'other'] }
    expect(byWrite(twice, 'yes', 1000).confirmed).toEqual(['other'])
    expect(byWrite(twice, 'no', 1000).confirmed).toEqual(['echo', 'other'])
  })
})
