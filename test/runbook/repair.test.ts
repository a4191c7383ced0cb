import { describe, expect, it } from 'vitest'
import { dueAfterOther, dueAfterSaw } from '../../shared/runbook/repair.ts'
import { type RunAnswer, takes } from '../../shared/runbook/state.ts'
import { smallRequest } from '../support/small-bench.ts'
import { Run, runbookOf } from './fixture.ts'

const cable = runbookOf(smallRequest())
const refused = () =>
  new Run(cable)
    .sawUntil('watch')
    .otherBy(/was refused/)
    .say('diagnose')

/** Gone on with after what Diagnose had advised. */
function again(run: Run, repaired?: string[], isOneOf?: boolean): Run {
  const base = { step: run.state.step.id, atMs: (run.answers.length + 1) * 1000, said: 'again' as const }
  run.answers.push({
    ...base,
    ...(repaired === undefined ? {} : { repaired }),
    ...(isOneOf === undefined ? {} : { isOneOf }),
  })
  return run
}

describe('a repair that Diagnose advised on the way', () => {
  it('is asked about once the step of the trouble is as it should be, with what was known in it', () => {
    const run = again(refused(), ['image-wrong-type'])
    expect(run.state).toMatchObject({ step: { id: 'start' }, repair: undefined })
    run.say('saw')
    expect(run.state).toMatchObject({ step: { id: 'watch' }, repair: undefined })
    run.say('saw')
    expect(run.state).toMatchObject({
      step: { id: 'version' },
      repair: { symptom: 'write-refused', causes: ['image-wrong-type'], isOneOf: false },
    })
    expect(run.state.repair?.facts).toMatchObject({ 'receiver-named': 'yes' })
  })

  it('is asked about until it is answered, to the very end', () => {
    const run = again(refused(), ['image-wrong-type', 'image-damaged'], true)
    while (run.state.at !== 'ended') run.say('saw')
    expect(run.state.repair).toMatchObject({ causes: ['image-wrong-type', 'image-damaged'], isOneOf: true })
  })

  it.each(['helped', 'not-that'] as const)(
    'is settled by “%s”, which changes nothing else, and once',
    said => {
      const run = again(refused(), ['image-wrong-type']).say('saw').say('saw')
      const before = run.state
      const answer = { step: before.step.id, atMs: 99_000, said } as RunAnswer
      expect(takes(cable, 0, run.answers, answer)).toBe(true)
      run.say(said)
      expect(run.state).toEqual({ ...before, repair: undefined })
      expect(takes(cable, 0, run.answers, answer)).toBe(false)
    },
  )

  it('is no answer that changes anything where nothing is to be settled', () => {
    const run = again(refused(), ['image-wrong-type'])
    const answer = { step: 'start', atMs: 99_000, said: 'helped' } as const
    expect(takes(cable, 0, run.answers, answer)).toBe(false)
  })

  it('has not helped where the trouble is still there', () => {
    const run = again(refused(), ['image-wrong-type'])
      .say('saw')
      .otherBy(/was refused/)
    again(run).say('saw').say('saw')
    expect(run.state).toMatchObject({ step: { id: 'version' }, repair: undefined })
  })

  it('has not helped where the same came back later, before it was answered', () => {
    const run = again(new Run(cable).sawUntil('radio-on').otherBy(/does not see the card/), [
      'card-not-seated',
    ])
    run.say('saw')
    expect(run.state.repair).toBeDefined()
    run.sawUntil('start')
    expect(run.state.repair).toBeDefined()
    run.otherBy(/cannot use the card/)
    expect(run.state.repair).toBeUndefined()
  })

  it('is not asked about where nobody knows what was done', () => {
    const run = again(refused()).say('saw').say('saw')
    expect(run.state.repair).toBeUndefined()
    const quiet = again(new Run(cable).say('other'), ['card-not-seated']).say('saw')
    // With no symptom there was nothing to diagnose.
    expect(quiet.state.repair).toBeUndefined()
  })

  it('is asked about too where the reason was looked for before any trouble was said, of that step alone', () => {
    const advised = (run: Run, repaired: string[]) => {
      const atMs = (run.answers.length + 1) * 1000
      run.answers.push({ step: run.state.step.id, atMs, said: 'saw', repaired })
      return run
    }
    const run = advised(new Run(cable).sawUntil('watch').say('diagnose'), ['image-wrong-type'])
    expect(run.state).toMatchObject({ step: { id: 'version' }, wasDiagnosed: false })
    expect(run.state.repair?.causes).toEqual(['image-wrong-type'])
    const watch = cable.steps.find(step => step.id === 'watch')
    expect(run.state.repair?.symptom).toBe(watch?.others.find(one => one.symptom !== undefined)?.symptom)
    // Nobody asked there.
    expect(advised(new Run(cable).sawUntil('watch'), ['image-wrong-type']).state.repair).toBeUndefined()
    expect(new Run(cable).sawUntil('watch').say('diagnose').say('saw').state.repair).toBeUndefined()
  })

  it('leaves the diagnosis to be the first thing to do in the next trouble', () => {
    expect(refused().state.wasDiagnosed).toBe(true)
    const run = again(refused(), ['image-wrong-type'])
    // What was advised belongs to the trouble that it was asked in, not to the step that is done again.
    expect(run.state.wasDiagnosed).toBe(false)
    run.say('saw').otherBy(/was refused/)
    expect(run.state.wasDiagnosed).toBe(false)
  })
})

describe('when a repair is due', () => {
  const repair = {
    symptom: 'stops',
    causes: ['a'],
    isOneOf: false,
    facts: {},
    at: 'watch',
    isDue: false,
  } as const
  it('is after the step of the trouble or one behind it', () => {
    expect(dueAfterSaw(cable, repair, { id: 'start' })).toBe(repair)
    for (const id of ['watch', 'version']) expect(dueAfterSaw(cable, repair, { id })?.isDue).toBe(true)
    expect(dueAfterSaw(cable, undefined, { id: 'watch' })).toBeUndefined()
  })
  it('is no more after the same trouble, or any while it had not shown', () => {
    const due = { ...repair, isDue: true }
    expect(dueAfterOther(due, { symptom: 'no-bind' })).toBe(due)
    expect(dueAfterOther(due, { symptom: 'stops' })).toBeUndefined()
    expect(dueAfterOther(repair, { symptom: 'no-bind' })).toBeUndefined()
  })
})
