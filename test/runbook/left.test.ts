import { describe, expect, it } from 'vitest'
import { benchAfterRun, seenAfter } from '../../shared/runbook/after-run.ts'
import { leftBy, leftWords, mayStillWrite, RECEIVER_LEFT, receiverLeft } from '../../shared/runbook/left.ts'
import { convertingRequest, smallBench, smallRequest } from '../support/small-bench.ts'
import { Run, runbookOf } from './fixture.ts'

const cable = runbookOf(smallRequest())
const converting = runbookOf(convertingRequest())
const run = (runbook = cable) => new Run(runbook)
const finish = (r: Run) => {
  while (r.state.at !== 'ended') r.say('saw')
  return r
}

describe('what a run leaves behind', () => {
  it('is a receiver as before, until the update was started', () => {
    for (const id of cable.steps.slice(0, 8).map(s => s.id)) {
      const left = leftBy(cable, run().sawUntil(id).say('stop').state)
      expect(left).toMatchObject({ receiver: 'as-before', isChecked: false, lastResort: [] })
      expect(left.steps[0].text).toMatch(/put everything back/)
    }
  })

  it('is not known while the radio may be writing', () => {
    expect(receiverLeft(run().sawUntil('start').state)).toBe('not-known')
    expect(receiverLeft(run().sawUntil('watch').say('stop').state)).toBe('not-known')
  })

  it.each([
    ['start', /Nobody answers/, 'not-known'],
    ['start', /says no/, 'as-before'],
    ['start', /dark/, 'not-known'],
    ['watch', /stopped on the way/, 'partly-written'],
    ['watch', /check failed/, 'partly-written'],
    ['watch', /before anything was written/, 'as-before'],
    ['watch', /gone dark/, 'not-known'],
  ] as const)('after %s, %s: %s', (step, text, left) => {
    const state = run().sawUntil(step).otherBy(text).say('stop').state
    // Nobody answered: a second attempt has been begun, and nothing has been written by the first.
    expect(receiverLeft(state)).toBe(text.source === 'Nobody answers' ? 'as-before' : left)
  })

  it('stays partly written whatever a second attempt that never began is told', () => {
    const second = run()
      .sawUntil('watch')
      .otherBy(/stopped/)
      .sawUntil('second-start')
    expect(receiverLeft(second.state)).toBe('partly-written')
    expect(receiverLeft(second.otherBy(/Nobody answers/).say('stop').state)).toBe('partly-written')
  })

  it('gives the recovery that was rehearsed, and for a conversion the last resort too', () => {
    const left = leftBy(
      cable,
      run()
        .sawUntil('watch')
        .otherBy(/check failed/)
        .say('stop').state,
    )
    expect(left.steps).toEqual(cable.recovery.written?.steps)
    expect(left.steps.length).toBeGreaterThan(0)
    const hard = leftBy(
      converting,
      run(converting)
        .sawUntil('watch')
        .otherBy(/gone dark/)
        .say('stop').state,
    )
    expect(hard.lastResort.map(s => s.text).join(' ')).toMatch(/boot pin/)
  })

  it('waits for the radio before anything is unplugged, where nobody has said how it went', () => {
    for (const id of ['start', 'watch'] as const) {
      const { steps } = leftBy(cable, run().sawUntil(id).say('stop').state)
      expect(steps[0].text).toMatch(/^Wait until the radio has ended/)
      expect(steps.slice(1)).toEqual(cable.recovery.written?.steps)
    }
    // The radio may go on sending to a receiver that is dark.
    const dark = run()
      .sawUntil('watch')
      .otherBy(/gone dark/)
    expect(mayStillWrite(dark.state)).toBe(true)
    expect(leftBy(cable, dark.say('stop').state).steps[0].text).toMatch(/^Wait until the radio has ended/)
    const told = run()
      .sawUntil('watch')
      .otherBy(/check failed/)
    expect(mayStillWrite(told.say('stop').state)).toBe(false)
    expect(mayStillWrite(run().sawUntil('version').say('stop').state)).toBe(false)
  })

  it('is written and not proven until the version was seen, then runs the new one, then is checked', () => {
    const done = run().sawUntil('version')
    expect(receiverLeft(done.state)).toBe('written-not-proven')
    done.say('saw').say('stop')
    const left = leftBy(cable, done.state)
    expect(left).toMatchObject({ receiver: 'runs-new', isChecked: false })
    expect(left.steps.map(s => s.text).join(' ')).toMatch(/Range check/)
    expect(left.steps.map(s => s.text).join(' ')).not.toMatch(/which firmware the receiver runs/)
    expect(leftBy(cable, finish(run()).state)).toMatchObject({
      receiver: 'runs-new',
      isChecked: true,
      steps: [],
    })
  })

  it('has words for each', () => {
    for (const left of RECEIVER_LEFT) expect(leftWords[left].length).toBeGreaterThan(20)
  })
})

describe('the bench afterwards', () => {
  const unit = (bench: ReturnType<typeof smallBench>, id: string) => bench.receivers.find(r => r.id === id)!

  it('says the version that was seen, and that it is no longer as it came', () => {
    const bench = smallBench()
    const seen = seenAfter(cable, finish(run()).state, true)
    expect(seen).toEqual({ firmware: '2.4.0', isBound: true })
    const after = benchAfterRun(bench, cable, seen)
    expect(unit(after, 'wren-trainer')).toMatchObject({
      firmware: '2.4.0',
      generation: 3,
      boundTo: 'inner-tarn',
    })
    expect(after.receivers.filter((r, i) => r !== bench.receivers[i])).toHaveLength(1)
  })

  it('says another generation after a conversion, and bound only once somebody has seen it', () => {
    const bench = convertingRequest().bench
    const early = seenAfter(converting, run(converting).sawUntil('put-back').state, true)
    expect(early).toEqual({ firmware: '2.0.0', isBound: false })
    const after = benchAfterRun(bench, converting, early)
    expect(unit(after, 'heron-biplane')).toMatchObject({ firmware: '2.0.0', generation: 3 })
    expect(unit(after, 'heron-biplane').boundTo).toBeUndefined()
    const late = seenAfter(converting, finish(run(converting)).state, true)
    expect(unit(benchAfterRun(bench, converting, late), 'heron-biplane').boundTo).toBe('inner-tarn')
    expect(unit(benchAfterRun(after, converting, late), 'heron-biplane').boundTo).toBe('inner-tarn')
  })

  it('keeps the generation where another version was seen than the one of the image', () => {
    const bench = convertingRequest().bench
    const after = benchAfterRun(bench, converting, { firmware: '1.6.0', isBound: true })
    expect(unit(after, 'heron-biplane')).toMatchObject({ firmware: '1.6.0', generation: 2 })
  })

  it('stays as it is where the receiver is not on it', () => {
    const bench = smallBench()
    const other = { ...cable, receiver: { ...cable.receiver, id: 'nobody' } }
    expect(benchAfterRun(bench, other, { firmware: '2.4.0', isBound: true })).toBe(bench)
  })
})
