import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { otherAnswer, otherOctet, Places } from '../../shared/dialect/exchange-report.ts'
import { sectionsOf } from '../../shared/dialect/names.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { Step } from '../../shared/dialect/schema-steps.ts'
import { octetsOf } from '../support/boot-rom-rig.ts'

const an3155 = builtInDialects().get('st-an3155') as Dialect
const places = new Places()
for (const { path, steps } of sectionsOf(an3155)) places.add(steps, path.join('.'))
const stepsIn = (steps: readonly Step[]): Step[] =>
  steps.flatMap(step => [
    step,
    ...('steps' in step ? stepsIn(step.steps) : []),
    ...(step.do === 'when' ? stepsIn(step.otherwise) : []),
  ])
const all = sectionsOf(an3155).flatMap(({ steps }) => stepsIn(steps))
const expecting = all.find(
  (step): step is Extract<Step, { do: 'expect' }> => step.do === 'expect' && step.replies.length > 0,
)
if (expecting === undefined) throw new Error('ST AN3155 expects answers')
const turn = { to: 'workbench', octets: octetsOf('79 1F'), line: 4 } as const

describe('where a step stands', () => {
  it('is known of every step of a dialect, each at a place of its own', () => {
    const paths = all.map(step => places.of(step).path)
    expect(paths.filter(path => path === '')).toEqual([])
    expect(new Set(paths).size).toBe(all.length)
  })

  it('is nowhere for what is no step of it', () => {
    expect(places.of(undefined)).toEqual({ path: '', what: '' })
    expect(places.of({})).toEqual({ path: '', what: '' })
  })
})

describe('the first difference, in one sentence', () => {
  it('names line, octet, step and what was expected of an answer', () => {
    const where = places.of(expecting)
    const said = otherAnswer(turn, 1, where, { step: expecting, dialect: an3155, wrong: true })
    expect(said).toMatchObject({ line: 4, at: 1, is: '1F', step: where.path })
    expect(said.text).toMatch(/^Line 4: the answer differs at octet 2, 1F\. ".+" expects ack \(79\)/)
    const early = otherAnswer(turn, 2, where, { step: expecting, dialect: an3155, wrong: false })
    expect(early.text).toContain('the answer ends too early')
  })

  it('names what the workbench would say, or that nothing is to be said there', () => {
    const sent = { ...turn, to: 'receiver' } as const
    const where = { path: 'write.block[0]', what: 'Write Memory' }
    expect(otherOctet(sent, 0, octetsOf('31'), where).text).toBe(
      'Line 4: octet 1 is 79, the workbench would say 31. In "Write Memory" (write.block[0]).',
    )
    expect(otherOctet(sent, 2, undefined, places.of(undefined)).text).toBe(
      'Line 4: octet 3 is nothing; the workbench would not say this here.',
    )
    expect(otherOctet(turn, 0, undefined, places.of(undefined)).text).toContain('expects no answer here')
  })
})
