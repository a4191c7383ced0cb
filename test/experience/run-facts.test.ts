import { describe, expect, it } from 'vitest'
import { factsOfRun } from '../../shared/experience/run-facts.ts'
import { type RunAnswer, runbookState } from '../../shared/runbook/state.ts'
import { Run, runbookOf, stepOf } from '../runbook/fixture.ts'
import { smallRequest } from '../support/small-bench.ts'

const cable = runbookOf(smallRequest())
const air = runbookOf(smallRequest({ route: 'wireless' }))
const begun = (runbook = cable) => new Run(runbook)
const factsOf = (run: Run) => factsOfRun(run.runbook, run.state)
const stopped = (runbook = cable) =>
  begun(runbook)
    .sawUntil('watch')
    .otherBy(/stopped on the way/)

describe('what a guided run tells of the first attempt', () => {
  it('is nothing before the new version was seen', () => {
    for (const step of ['drive', 'watch', 'version'])
      expect(factsOf(begun().sawUntil(step))).toMatchObject({ first: null, second: null, secondTry: null })
  })

  it('is that it worked', () => {
    expect(factsOf(begun().sawUntil('put-back'))).toMatchObject({
      typeId: 'aldwick-wren-6',
      way: 'cable',
      first: 'worked',
      second: null,
      secondTry: null,
    })
  })

  it('is that it failed and the second worked by itself, with what was seen', () => {
    const facts = factsOf(stopped().sawUntil('put-back'))
    expect(facts).toMatchObject({ first: 'failed', second: 'worked' })
    expect(facts.secondTry).toEqual({
      symptom: 'stops',
      route: 'cable',
      answers: begun().sawUntil('watch').state.facts,
    })
    expect(factsOf(stopped(air).sawUntil('put-back'))).toMatchObject({
      way: 'wireless',
      secondTry: { symptom: 'stops', route: 'wireless' },
    })
  })

  it('is that both failed', () => {
    const twice = stopped()
      .sawUntil('second-watch')
      .otherBy(/stopped on the way/)
    expect(factsOf(twice)).toMatchObject({ first: 'failed', second: 'failed', secondTry: null })
    const atStart = stopped()
      .sawUntil('second-start')
      .otherBy(/Nobody answers/)
    expect(factsOf(atStart)).toMatchObject({ first: 'failed', second: 'failed' })
  })

  it('is that it failed where the radio was satisfied and the old version ran', () => {
    const old = begun()
      .sawUntil('version')
      .otherBy(/old version/)
    expect(factsOf(old)).toMatchObject({ first: 'failed', second: null })
    expect(factsOf(old.sawUntil('put-back'))).toMatchObject({
      second: 'worked',
      secondTry: { symptom: 'stops' },
    })
  })

  it('is nothing of the second where the new version ran already', () => {
    const run = stopped()
      .sawUntil('second-version')
      .otherBy(/already/)
      .sawUntil('put-back')
    expect(factsOf(run)).toMatchObject({ second: null, secondTry: null })
  })

  it('is nothing of the second where something was put right, or the person went elsewhere in between', () => {
    const repaired = begun()
      .sawUntil('watch')
      .otherBy(/was refused/)
      .say('again')
      .sawUntil('put-back')
    expect(factsOf(repaired)).toMatchObject({ first: 'failed', second: null, secondTry: null })
    const dark = stopped().sawUntil('second-restart').say('other').say('again').sawUntil('put-back')
    expect(factsOf(dark)).toMatchObject({ first: 'failed', second: null, secondTry: null })
    for (const said of ['resume', 'diagnose'] as const)
      expect(factsOf(stopped().say(said).sawUntil('put-back'))).toMatchObject({ second: null })
  })

  it('does not count a card that was not seen for an attempt, nor a mistake that was taken back', () => {
    const card = begun()
      .sawUntil('start')
      .otherBy(/cannot use the card/)
      .say('again')
      .sawUntil('put-back')
    expect(factsOf(card)).toMatchObject({ first: 'worked' })
    const slip = stopped().say('back').say('saw').sawUntil('put-back')
    expect(factsOf(slip)).toMatchObject({ first: 'worked' })
  })
})

/** The same as for an image that takes a minute to write. */
const slow = {
  ...cable,
  steps: cable.steps.map(step => (step.id === 'watch' ? { ...step, rehearsedMs: 56_000 } : step)),
}

/** A run of which each step takes so long, in milliseconds. */
function timed(ms: Partial<Record<string, number>>, usualMs = 30_000): RunAnswer[] {
  const answers: RunAnswer[] = []
  let atMs = 0
  for (;;) {
    const { at, step } = runbookState(slow, 0, answers)
    if (at === 'ended') return answers
    atMs += ms[step.id] ?? usualMs
    answers.push({ step: step.id, atMs, said: 'saw' })
  }
}
const timesOf = (answers: readonly RunAnswer[]) => factsOfRun(slow, runbookState(slow, 0, answers)).times

describe('how long the steps of a guided run took', () => {
  it('is the time from one answer to the next', () => {
    const times = timesOf(timed({ watch: 64_000, drive: 41_000 }))
    expect(times).toMatchObject({ watch: 64_000, drive: 41_000 })
    expect(Object.keys(times).every(id => stepOf(cable, id).part !== 'second')).toBe(true)
  })

  it('is left out where nobody can have waited, and where it was left for hours', () => {
    expect(timesOf(timed({ watch: 400 }))).not.toHaveProperty('watch')
    expect(timesOf(timed({ watch: 5 * 3_600_000 }))).not.toHaveProperty('watch')
    expect(timesOf(timed({ watch: -7_000 }))).not.toHaveProperty('watch')
  })

  it.each(['resume', 'diagnose', 'stop'] as const)('is left out after “%s” in the step', said => {
    const answers = timed({ watch: 64_000 })
    const at = answers.findIndex(a => a.step === 'watch')
    const { step, atMs } = answers[at]
    const between: RunAnswer[] = [{ step, atMs: atMs - 9_000, said }]
    if (said === 'stop') between.push({ step, atMs: atMs - 8_000, said: 'resume' })
    const times = timesOf([...answers.slice(0, at), ...between, ...answers.slice(at)])
    expect(times).not.toHaveProperty('watch')
    expect(times).toHaveProperty('version')
  })

  it('is not what is left after a step back', () => {
    const answers = timed({ watch: 64_000 })
    const at = answers.findIndex(a => a.step === 'version')
    const { atMs } = answers[at]
    const back: RunAnswer[] = [
      { step: 'version', atMs: atMs - 9_000, said: 'back' },
      { step: 'watch', atMs: atMs - 1_000, said: 'saw' },
    ]
    const times = timesOf([...answers.slice(0, at), ...back, ...answers.slice(at)])
    expect(times).not.toHaveProperty('watch')
  })
})
