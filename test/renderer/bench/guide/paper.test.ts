import { describe, expect, it } from 'vitest'
import { paperOf, standsAt } from '../../../../renderer/bench/guide/paper.ts'
import { type RunAnswer, runbookState } from '../../../../shared/runbook/state.ts'
import { runbookOf } from '../../../runbook/fixture.ts'
import { smallRequest } from '../../../support/small-bench.ts'

const runbook = runbookOf(smallRequest())
const BEGAN = 1_000_000
const way = runbook.steps.filter(step => step.part !== 'second')
const [first, second] = way

/** Says these one after another, ten seconds apart. */
const run = (sayings: readonly object[]) => {
  const answers: RunAnswer[] = []
  for (const [i, saying] of sayings.entries()) {
    const { step } = runbookState(runbook, BEGAN, answers)
    answers.push({ step: step.id, atMs: BEGAN + 10_000 * (i + 1), ...saying } as RunAnswer)
  }
  return { runbook, answers, state: runbookState(runbook, BEGAN, answers) }
}
const stepsOf = (sayings: readonly object[]) => paperOf(run(sayings)).flatMap(({ steps }) => steps)
const toTheEnd = way.map(() => ({ said: 'saw' }))

describe('a guided run on paper', () => {
  it('has every step of the runbook, in its order, each once', () => {
    for (const sayings of [[], [{ said: 'saw' }], toTheEnd])
      expect(stepsOf(sayings).map(({ step }) => step.id)).toEqual(runbook.steps.map(step => step.id))
  })

  it('numbers them as the run does, and a second attempt that there is none of apart', () => {
    const steps = stepsOf([])
    const numbers = steps.filter(({ step }) => step.part !== 'second').map(({ number }) => number)
    expect(numbers).toEqual(way.map((_, i) => String(i + 1)))
    expect(steps.find(({ step }) => step.part === 'second')?.number).toBe('a')
    const titles = (sayings: readonly object[]) => paperOf(run(sayings)).map(({ title }) => title)
    expect(titles([])).toContain('Second attempt, if the first write fails')
    expect(titles(toTheEnd)).toContain('Second attempt: there was none')
  })

  it('says what was answered, when, and after how long', () => {
    const [one, two, three] = stepsOf([{ said: 'saw' }, { said: 'unsure' }, { said: 'other', other: 0 }])
    expect(one.answers).toEqual([{ atMs: BEGAN + 10_000, text: 'Saw it.', tookMs: 10_000 }])
    expect(two.isUnsure).toBe(true)
    expect(two.answers).toEqual([
      { atMs: BEGAN + 20_000, text: 'Not sure.', tookMs: undefined },
      {
        atMs: BEGAN + 30_000,
        text: `Saw something else: ${second.others[0].text}`,
        tookMs: 20_000,
      },
    ])
    expect(three.answers).toEqual([])
  })

  it('keeps what was taken back, without a time for it', () => {
    const [one, two] = stepsOf([{ said: 'saw' }, { said: 'back' }, { said: 'saw' }])
    expect(two.answers.map(({ text }) => text)).toEqual(['Went back.'])
    expect(one.answers.map(({ text, tookMs }) => [text, tookMs])).toEqual([
      ['Saw it.', undefined],
      ['Saw it.', undefined],
    ])
  })

  it('marks where the run stands, and nothing once it has ended', () => {
    const now = (sayings: readonly object[]) =>
      stepsOf(sayings)
        .filter(({ isNow }) => isNow)
        .map(({ step }) => step.id)
    expect(now([])).toEqual([first.id])
    expect(now([{ said: 'saw' }])).toEqual([second.id])
    expect(now(toTheEnd)).toEqual([])
    expect(standsAt(run([]))).toBe(`It is at step 1 of ${way.length}.`)
    expect(standsAt(run([{ said: 'stop' }]))).toBe(`It was stopped at step 1 of ${way.length}.`)
    expect(standsAt(run([{ said: 'stop' }, { said: 'end' }]))).toBe(
      `It was ended at step 1 of ${way.length}.`,
    )
    expect(standsAt(run(toTheEnd))).toBe('It has ended, after the last step.')
  })
})
