import { describe, expect, it } from 'vitest'
import { cautionsOf, judgeCautions, questionOf } from '../../shared/bench-run/cautions.ts'
import type { PreconditionId, Rehearsed } from '../../shared/bench-run/check.ts'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { type CheckInput, checkWrite, problemsOf } from '../../shared/bench-run/preconditions.ts'
import { failed, succeeded } from '../../shared/model/problem.ts'
import { planned, writePlan } from '../support/write-plan.ts'

const sound = { supply: 'adapter', drive: 'bare', reach: 'clear' }
const rehearsedOk = (key: string): Rehearsed => ({
  ...{ key, ok: true, sentence: 'It went through.', simulatedMs: 1, attempts: 1, retries: 0, steps: [] },
})
function check(change: Partial<WritePlan> = {}, more: Partial<CheckInput> = {}) {
  const plan = writePlan(change)
  const chosen = builtInChosen(plan.dialect)
  return checkWrite({
    plan,
    chosen: chosen ? succeeded(chosen) : failed({ code: 'dialect.unknown', message: 'There is none.' }),
    port: { state: 'free', label: 'Left', text: 'Left: free.' },
    answers: sound,
    rehearsed: rehearsedOk,
    ...more,
  })
}
const broken = (made: ReturnType<typeof check>): PreconditionId[] =>
  made.preconditions.filter(p => p.holds !== 'yes').map(p => p.id)

describe('what has to hold before a write', () => {
  it('holds on a bench that is wired right, rehearsed and looked at', () => {
    const made = check()
    expect(made.preconditions.filter(p => p.holds !== 'yes')).toEqual([])
    expect(made.ready).toBe(true)
    expect(problemsOf(made)).toEqual([])
  })

  it.each<[PreconditionId[], string, Partial<WritePlan>, Partial<CheckInput>]>([
    [['port'], 'no port', {}, { port: { state: 'absent', label: 'x', text: 'There is no port x.' } }],
    [['port'], 'a port in use', {}, { port: { state: 'in-use', label: 'x', text: 'x: in use.' } }],
    [['dialect', 'image', 'rehearsed', 'cautions'], 'a dialect that nobody knows', { dialect: 'nobody' }, {}],
    [['supply'], 'a reversed supply', { cableId: 'programmer-cable-swapped' }, {}],
    [['image', 'rehearsed', 'cautions'], 'no such image', { image: { kind: 'bench', imageId: 'none' } }, {}],
    [['rehearsed'], 'no rehearsal', {}, { rehearsed: () => undefined }],
    [
      ['rehearsed'],
      'a rehearsal that did not go through',
      {},
      { rehearsed: key => ({ ...rehearsedOk(key), ok: false }) },
    ],
    [['cautions'], 'nothing looked at', {}, { answers: {} }],
    [['cautions'], 'one thing not looked at', {}, { answers: { ...sound, reach: '' } }],
    [['cautions'], 'the propeller still on', {}, { answers: { ...sound, drive: 'propeller' } }],
    [['cautions'], 'another supply than planned', {}, { answers: { ...sound, supply: 'several' } }],
    [['cautions'], 'a speed controller, or nobody can tell', {}, { answers: { ...sound, supply: 'other' } }],
  ])('%j: not with %s', (ids, _, change, more) => {
    const made = check(change, more)
    expect(broken(made)).toEqual(expect.arrayContaining(ids))
    expect(made.ready).toBe(false)
    for (const p of made.preconditions) if (ids.includes(p.id)) expect(p.why.join(' ')).toMatch(/\w/)
    expect(problemsOf(made).map(p => p.code)).toEqual(broken(made).map(id => `write.${id}`))
  })

  it('an image for another receiver is refused', () => {
    const made = check({ image: { kind: 'bench', imageId: 'heron-8-2.0.0' } })
    expect(broken(made)).toContain('image')
  })

  it('no wiring that is in danger passes, whatever else is said', () => {
    const everything = {
      supply: 'adapter',
      drive: 'bare',
      reach: 'clear',
      wiring: 'yes',
      override: 'yes',
      force: 'yes',
    }
    for (const feed of ['through-cable', 'own-supply', 'both'] as const) {
      const made = check({ cableId: 'programmer-cable-swapped', feed }, { answers: everything })
      expect(made.ready).toBe(false)
      expect(broken(made).some(id => id === 'supply' || id === 'wiring')).toBe(true)
    }
  })

  it('5 V signals on a receiver that does not stand them are the business of the wiring', () => {
    const made = check({ adapterId: 'five-volt-adapter' })
    const checked = made.wiring
    expect(made.ready).toBe(checked?.safe ?? false)
  })
})

describe('cautions by deed', () => {
  it('do not tell which answer is right, and have more than one', () => {
    const questions = cautionsOf(planned()).map(questionOf)
    expect(questions.map(q => q.id)).toEqual(['supply', 'drive', 'reach'])
    for (const q of questions) {
      expect(Object.keys(q.choices[0])).toEqual(['id', 'label'])
      expect(q.choices.length).toBeGreaterThan(2)
    }
  })

  it('let exactly those through that are safe', () => {
    const cautions = cautionsOf(planned())
    for (const caution of cautions)
      for (const choice of caution.choices) {
        const { holds, why } = judgeCautions(cautions, { ...sound, [caution.id]: choice.id })
        expect(holds).toBe(choice.stops === undefined ? 'yes' : 'no')
        if (choice.stops) expect(why).toContain(choice.stops)
      }
  })

  it('ask for the label where the receiver cannot say what it is', () => {
    const label = cautionsOf(planned({ dialect: 'xmodem-crc' })).find(c => c.id === 'label')
    expect(label?.choices.filter(c => c.stops === undefined).map(c => c.id)).toEqual(['aldwick-wren-6'])
  })

  it('ask for what the rules do not know', () => {
    const unsure = {
      rule: 'image-hardware',
      claim: 'The image is for this hardware.',
      sentence: 'Not known.',
    }
    const cautions = cautionsOf(planned(), [unsure])
    const answers = (said: string) => ({ ...sound, 'rule-image-hardware': said })
    expect(judgeCautions(cautions, answers('so')).holds).toBe('yes')
    expect(judgeCautions(cautions, answers('not-looked')).holds).toBe('no')
    expect(judgeCautions(cautions, sound).holds).toBe('unknown')
  })
})
