import { describe, expect, it } from 'vitest'
import type { Runbook } from '../../shared/runbook/schema.ts'
import {
  looksOf,
  nextStep,
  type RunAnswer,
  type RunState,
  runAnswerSchema,
  runbookState,
  symptomNow,
  takes,
} from '../../shared/runbook/state.ts'
import { convertingRequest, smallRequest } from '../support/small-bench.ts'
import { Run, runbookOf } from './fixture.ts'

const cable = runbookOf(smallRequest())
const air = runbookOf(smallRequest({ route: 'wireless' }))
const begun = (runbook = cable) => new Run(runbook)

describe('a guided run', () => {
  it('goes to its end by “saw it” alone, past the second attempt', () => {
    const run = begun()
    const way: string[] = []
    while (run.state.at !== 'ended') {
      way.push(run.state.step.id)
      run.say('saw')
    }
    expect(way).toEqual(cable.steps.filter(s => s.part !== 'second').map(s => s.id))
    expect(run.state).toMatchObject({ at: 'ended', isSecond: false, number: way.length, of: way.length })
  })

  it('gathers what was seen as facts for the diagnosis', () => {
    const { facts } = begun().sawUntil('watch').state
    expect(facts).toEqual({
      'radio-battery': 'yes',
      'line-quiet': 'yes',
      'one-supply': 'yes',
      'image-passes': 'yes',
      'card-present': 'yes',
      'card-seen': 'yes',
      'receiver-named': 'yes',
      'receiver-light': 'yes',
      'supply-present': 'yes',
    })
  })

  it('makes the second attempt a step of its own once the first write has failed', () => {
    const run = begun()
      .sawUntil('watch')
      .otherBy(/stopped on the way/)
    expect(run.state).toMatchObject({ at: 'step', isSecond: true, step: { id: 'second-pause' } })
    expect(run.state.of).toBe(cable.steps.length)
    run.sawUntil('second-watch').say('saw')
    expect(run.state.step.id).toBe('version')
    expect(run.state.facts['second-try']).toBe('yes')
    const looks = looksOf(run.state.visits)
    const seen = run.state.visits.find(visit => visit.step.id === 'second-watch')
    expect(seen?.saidAtMs).toBeGreaterThan(seen?.enteredAtMs ?? 0)
    expect(looks['second-try']).toEqual({ answer: 'yes', atMs: seen?.saidAtMs })
  })

  it('goes past the second attempt where the receiver runs the new version already', () => {
    const run = begun()
      .sawUntil('watch')
      .otherBy(/stopped on the way/)
      .sawUntil('second-version')
    expect(run.otherBy(/2\.4\.0 already/).state.step.id).toBe('version')
  })

  it('makes no third attempt: after the second the reason has to be looked for', () => {
    const run = begun()
      .sawUntil('watch')
      .otherBy(/its check failed/)
      .sawUntil('second-watch')
      .otherBy(/stopped/)
    expect(run.state).toMatchObject({ at: 'trouble', other: { symptom: 'stops' } })
    expect(run.state.facts['second-try']).toBe('no')
    // Put right, it is started again, not watched again.
    expect(run.say('again').state).toMatchObject({ at: 'step', step: { id: 'second-start' } })
    const late = run.sawUntil('version').otherBy(/old version/)
    expect(late.state.at).toBe('trouble')
  })

  it.each([
    [/refused/, 'write-refused'],
    [/gone dark/, 'dead'],
  ])('makes no second attempt after %s', (text, symptom) => {
    expect(begun().sawUntil('watch').otherBy(text).state).toMatchObject({ at: 'trouble', other: { symptom } })
  })

  it('names the symptom by air too', () => {
    const run = begun(air)
      .sawUntil('start')
      .otherBy(/does not offer/)
    expect(symptomNow(run.state)).toBe('not-offered')
    expect(run.state.facts['module-on']).toBe('yes')
  })

  it('stays where somebody is not sure, and shows how to be', () => {
    const run = begun().sawUntil('card-in').say('unsure')
    expect(run.state).toMatchObject({ at: 'step', unsure: true, step: { id: 'card-in' } })
    expect(run.state.facts['card-present']).toBe('cannot-check')
    expect(run.say('saw').state.facts['card-present']).toBe('yes')
    expect(run.state.unsure).toBe(false)
  })

  it('goes back one step, and forgets what that one had answered', () => {
    const run = begun().sawUntil('cable')
    expect(run.state.facts['card-present']).toBe('yes')
    run.say('back')
    expect(run.state.step.id).toBe('card-in')
    expect(run.state.facts['card-present']).toBeUndefined()
    expect(run.state.enteredAtMs).toBe(run.answers.at(-1)?.atMs)
    expect(begun().say('back').state).toMatchObject({ step: { id: 'drive' }, canGoBack: false })
  })

  it('goes back out of a second attempt that was begun by mistake, and out of trouble', () => {
    const run = begun()
      .sawUntil('watch')
      .otherBy(/stopped/)
      .say('back')
    expect(run.state).toMatchObject({ at: 'step', step: { id: 'watch' }, isSecond: false })
    run.otherBy(/dark/).say('back')
    expect(run.state).toMatchObject({ at: 'step', step: { id: 'watch' }, other: undefined })
  })

  it('is stopped, gone on with, and ended for good', () => {
    const run = begun().sawUntil('watch').say('stop')
    expect(run.state.at).toBe('stopped')
    expect(run.say('saw').state.at).toBe('stopped')
    expect(run.say('resume').state).toMatchObject({ at: 'step', step: { id: 'watch' } })
    run.otherBy(/dark/).say('stop').say('resume')
    expect(run.state.at).toBe('trouble')
    expect(run.say('stop').say('end').state.at).toBe('ended')
    expect(run.say('back').say('resume').state.at).toBe('ended')
  })

  it('takes no answer for a step that is not shown any more, such as a key pressed twice', () => {
    const run = begun()
    const twice: RunAnswer = { step: 'drive', said: 'saw', atMs: 1 }
    run.answers.push(twice, twice)
    expect(run.state.step.id).toBe('radio-charged')
    expect(takes(cable, 0, run.answers, twice)).toBe(false)
    expect(takes(cable, 0, run.answers, { step: 'radio-charged', said: 'other', other: 20, atMs: 1 })).toBe(
      false,
    )
    expect(takes(cable, 0, run.answers, { step: 'radio-charged', said: 'saw', atMs: 1 })).toBe(true)
    expect(takes(cable, 0, run.answers, { step: 'radio-charged', said: 'diagnose', atMs: 1 })).toBe(true)
  })

  it('remembers that the reason was looked for', () => {
    const run = begun().sawUntil('watch').otherBy(/dark/)
    expect(run.state.wasDiagnosed).toBe(false)
    expect(run.say('diagnose').state).toMatchObject({ wasDiagnosed: true, at: 'trouble' })
  })

  it('knows the step after each', () => {
    const watch = cable.steps.find(s => s.id === 'watch')!
    expect(nextStep(cable, watch)?.id).toBe('version')
    expect(nextStep(cable, cable.steps.at(-1)!)).toBeUndefined()
  })
})

/** Everything that can be said in this state. */
function sayable(state: RunState): RunAnswer[] {
  const base = { step: state.step.id, atMs: 0 }
  return [
    ...(['saw', 'unsure', 'back', 'diagnose', 'again', 'stop', 'resume', 'end'] as const).map(said => ({
      ...base,
      said,
    })),
    ...state.step.others.map((_, other) => ({ ...base, said: 'other' as const, other })),
  ]
}

const keyOf = (state: RunState) =>
  [state.at, state.step.id, state.unsure, state.isSecond, state.other?.text].join('|')

/** Every kind of state that there is, with the answers that lead to it, first the shortest. */
function reachable(runbook: Runbook): Map<string, RunAnswer[]> {
  const found = new Map<string, RunAnswer[]>()
  const queue: RunAnswer[][] = [[]]
  while (queue.length > 0) {
    const answers = queue.shift()!
    const state = runbookState(runbook, 0, answers)
    const key = keyOf(state)
    if (found.has(key)) continue
    found.set(key, answers)
    for (const next of sayable(state)) if (takes(runbook, 0, answers, next)) queue.push([...answers, next])
  }
  return found
}

describe.each([
  ['by cable', cable],
  ['by air', air],
  ['with a conversion', runbookOf(convertingRequest())],
])('every state of a run %s', (_, runbook) => {
  const states = reachable(runbook)

  it('is reached: each step, each trouble, each stop', () => {
    for (const step of runbook.steps) {
      expect(
        [...states.keys()].some(key => key.startsWith(`step|${step.id}|`)),
        step.id,
      ).toBe(true)
      expect(
        [...states.keys()].some(key => key.startsWith(`stopped|${step.id}|`)),
        step.id,
      ).toBe(true)
    }
    expect([...states.keys()].filter(key => key.startsWith('trouble|')).length).toBeGreaterThan(10)
  })

  it('leads to an end, by seeing what should be seen, or by stopping', () => {
    for (const [key, answers] of states) {
      const stopped = [...answers]
      for (const said of ['stop', 'end'] as const)
        stopped.push({ said, step: runbookState(runbook, 0, stopped).step.id, atMs: 0 })
      expect(runbookState(runbook, 0, stopped).at, key).toBe('ended')
      const went = [...answers]
      for (let i = 0; i < 60 && runbookState(runbook, 0, went).at !== 'ended'; i++) {
        const state = runbookState(runbook, 0, went)
        const said = state.at === 'trouble' ? 'again' : state.at === 'stopped' ? 'resume' : 'saw'
        went.push({ said, step: state.step.id, atMs: 0 })
      }
      expect(runbookState(runbook, 0, went).at, key).toBe('ended')
    }
  })

  it('is the same whoever works it out, and holds what can be logged', () => {
    for (const answers of states.values()) {
      for (const answer of answers) expect(runAnswerSchema.parse(answer)).toEqual(answer)
      expect(runbookState(runbook, 0, answers)).toEqual(runbookState(runbook, 0, structuredClone(answers)))
    }
  })
})
