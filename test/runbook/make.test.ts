import { describe, expect, it } from 'vitest'
import { FACTS } from '../../shared/diagnose/facts.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { makeRunbook } from '../../shared/runbook/make.ts'
import { recoveriesFor } from '../../shared/runbook/recoveries.ts'
import { runbookSchema } from '../../shared/runbook/schema.ts'
import { stepsAfter } from '../../shared/runbook/steps-after.ts'
import { stepsBefore } from '../../shared/runbook/steps-before.ts'
import { PAUSE_MS, stepsUpdate } from '../../shared/runbook/steps-update.ts'
import { convertingRequest, smallBench, smallRequest } from '../support/small-bench.ts'
import { rehearsed, runbookOf, stepOf } from './fixture.ts'

const ownSupply = (): RehearsalRequest => {
  const bench = smallBench()
  return smallRequest({ bench: { ...bench, wiring: { ...bench.wiring, cableFeed: 'own-supply' } } })
}
const plans: readonly (readonly [string, RehearsalRequest])[] = [
  ['by cable, fed through it', smallRequest()],
  ['by cable, with a supply of its own', ownSupply()],
  ['by air', smallRequest({ route: 'wireless' })],
  ['a conversion', convertingRequest()],
  ['by cable, in a glider without a propeller', smallRequest({ receiverId: 'wren-glider' })],
]
const ids = (request: RehearsalRequest) => runbookOf(request).steps.map(step => step.id)

describe.each(plans)('the runbook %s', (_, request) => {
  const one = rehearsed(request)
  const runbook = runbookOf(request)

  it('keeps to its form, and crosses the contract unchanged', () => {
    expect(runbookSchema.parse(JSON.parse(JSON.stringify(runbook)))).toEqual(runbook)
    expect(new Set(runbook.steps.map(step => step.id)).size).toBe(runbook.steps.length)
  })

  it('takes as long as the rehearsal, step by step', () => {
    const way = runbook.steps.filter(step => step.part !== 'second' || one.report.attempts > 1)
    const sumMs = way.reduce((sum, step) => sum + step.rehearsedMs, 0)
    expect(sumMs).toBeCloseTo(one.report.simulatedMs, 3)
    for (const step of runbook.steps)
      expect(step.phases.reduce((sum, phase) => sum + phase.ms, 0)).toBeLessThanOrEqual(
        step.rehearsedMs + 1e-6,
      )
  })

  it('knows every phase of the rehearsal, each once and in order', () => {
    const told = runbook.steps.filter(s => s.part !== 'second').flatMap(s => s.phases.map(p => p.id))
    expect(told).toEqual(one.phases.filter(p => p.attempt === 1 || p.id === 'stage').map(p => p.id))
  })

  it('asks only for facts and symptoms of its route, in answers that the diagnosis takes', () => {
    for (const step of runbook.steps) {
      for (const id of [step, ...step.others].flatMap(each => Object.keys(each.facts))) {
        const fact = FACTS.find(f => f.id === id)
        expect(fact, `${step.id}: ${id}`).toBeDefined()
        expect(fact?.routes).toContain(runbook.route)
      }
      // What should be seen is what is seen where all is well.
      for (const [id, answer] of Object.entries(step.facts))
        expect(answer, `${step.id}: ${id}`).toBe(FACTS.find(f => f.id === id)?.sound)
      for (const { symptom } of step.others)
        if (symptom) expect(symptomWords[symptom].routes).toContain(runbook.route)
    }
  })

  it('leads only to steps that there are', () => {
    for (const { again, others } of runbook.steps) {
      stepOf(runbook, again)
      for (const { leads } of others) if (leads.to === 'step') stepOf(runbook, leads.step)
    }
  })

  it('begins with the drive and ends with “no flight before”', () => {
    expect(runbook.steps[0].id).toBe('drive')
    expect(runbook.steps[0].caution).toMatch(/drive/i)
    expect(runbook.steps.at(-1)?.text).toMatch(/No flight before/)
  })

  it('brings the receiver back, rehearsed, from a run that broke off while it wrote', () => {
    expect(runbook.recovery.written?.rehearsed.outcome).toBe('updated')
    expect(runbook.recovery.bootLoader?.rehearsed.outcome).toBe(runbook.converts ? 'updated' : undefined)
    expect(recoveriesFor(request, one.flash)).toEqual(runbook.recovery)
  })
})

describe('the order of the steps', () => {
  it('by cable: one supply, sensors off, card, cable, radio; the cable feeds the receiver', () => {
    expect(ids(smallRequest()).slice(0, 10)).toEqual([
      'drive',
      'radio-charged',
      'supply',
      'sensors-off',
      'card-files',
      'card-in',
      'cable',
      'radio-on',
      'start',
      'watch',
    ])
    const { steps } = runbookOf(smallRequest())
    expect(steps[2].text).toMatch(/Unplug every pack/)
    expect(steps.find(s => s.id === 'cable')?.expect).toMatch(/key to key/)
  })

  it('by cable with a supply of its own: the receiver is switched on after the radio', () => {
    const order = ids(ownSupply())
    expect(order.indexOf('receiver-on')).toBe(order.indexOf('radio-on') + 1)
    expect(stepOf(runbookOf(ownSupply()), 'supply').text).toMatch(/6 V regulator/)
  })

  it('by air: the model stays as it is, others are off, the module is on, no cable', () => {
    const runbook = runbookOf(smallRequest({ route: 'wireless' }))
    const order = runbook.steps.map(s => s.id)
    expect(order.slice(0, 11)).toEqual([
      'drive',
      'radio-charged',
      'supply',
      'others-off',
      'distance',
      'card-files',
      'card-in',
      'radio-on',
      'module-on',
      'receiver-on',
      'start',
    ])
    expect(stepOf(runbook, 'supply').text).toMatch(/can stay in Club trainer.*6 V regulator/)
    expect(stepOf(runbook, 'supply').expect).toMatch(/4\.0 V and 10\.0 V/)
    expect(stepOf(runbook, 'others-off').text).toMatch(/Switch everything else off that transmits/)
    expect(stepOf(runbook, 'distance').text).toMatch(/about 2 m/)
    expect(runbook.steps.map(s => `${s.text} ${s.expect} ${s.caution ?? ''}`).join(' ')).not.toMatch(/cable/)
  })

  it('names the very files that staging puts on the card', () => {
    const runbook = runbookOf(smallRequest())
    expect(runbook.image.files).toEqual([
      'IMAGES/aldwick-wren-6-2.4.0.image',
      'IMAGES/aldwick-wren-6-2.4.0.card.json',
    ])
    for (const file of runbook.image.files) expect(stepOf(runbook, 'card-files').expect).toContain(file)
    expect(stepOf(runbook, 'start').text).toContain(runbook.image.files[0])
  })

  it('makes a second attempt of its own steps: pause, restart, look at the version, start, watch', () => {
    const { steps } = runbookOf(smallRequest())
    const second = steps.filter(s => s.part === 'second')
    expect(second.map(s => s.id)).toEqual([
      'second-pause',
      'second-restart',
      'second-version',
      'second-start',
      'second-watch',
    ])
    expect(second[0].handsMs).toBe(PAUSE_MS)
    expect(second[4].facts['second-try']).toBe('yes')
  })

  it('says what a model without a propeller and a plug without a key need', () => {
    const glider = runbookOf(smallRequest({ receiverId: 'wren-glider' }))
    expect(glider.steps[0].text).toBe('Thermal glider: disconnect the drive.')
    const bench = smallBench()
    const connectors = bench.catalogue.connectors.map(c => ({ ...c, keyed: false }))
    const unkeyed = runbookOf(
      smallRequest({ bench: { ...bench, catalogue: { ...bench.catalogue, connectors } } }),
    )
    expect(stepOf(unkeyed, 'cable').sure).toMatch(/both ways round/)
  })

  it('is put together of what comes before, the update itself, and what comes after', () => {
    for (const part of [stepsBefore, stepsUpdate, stepsAfter]) expect(part).toBeTypeOf('function')
    const parts = runbookOf(smallRequest()).steps.map(s => s.part)
    expect(parts.filter((part, i) => part !== parts[i - 1])).toEqual([
      'prepare',
      'card',
      'connect',
      'power',
      'update',
      'second',
      'update',
      'after',
    ])
  })
})

describe('a rehearsal that makes no runbook', () => {
  const refused = (result: ReturnType<typeof makeRunbook>) => (result.ok ? 'made' : result.problems[0].code)

  it('is one with faults, even if it ended well', () => {
    expect(refused(makeRunbook(rehearsed(smallRequest({ faults: [{ name: 'line-noise' }] }))))).toBe(
      'runbook.with-faults',
    )
  })

  it('is one that did not end with the new image running', () => {
    const bench = withUnit(smallBench(), 'radios', 'tarn', { batteryVolts: 6.5 })
    expect(refused(makeRunbook(rehearsed(smallRequest({ bench }))))).toBe('runbook.not-updated')
  })

  it('is one of another plan', () => {
    const one = rehearsed(smallRequest())
    const changed = withUnit(smallBench(), 'receivers', 'wren-trainer', { firmware: '2.3.0' })
    expect(refused(makeRunbook(one, { plan: smallRequest() }))).toBe('made')
    expect(refused(makeRunbook(one, { plan: smallRequest({ bench: changed }) }))).toBe('runbook.other-plan')
    expect(refused(makeRunbook(one, { plan: smallRequest({ route: 'wireless' }) }))).toBe(
      'runbook.other-plan',
    )
  })

  it('is one of a receiver that is not there', () => {
    const one = rehearsed(smallRequest())
    expect(refused(makeRunbook({ ...one, request: { ...one.request, receiverId: 'nobody' } }))).toBe(
      'bench.no-receiver',
    )
  })
})
