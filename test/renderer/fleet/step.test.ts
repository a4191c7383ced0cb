import { describe, expect, it } from 'vitest'
import {
  cellOf,
  concernOf,
  effectOf,
  isChange,
  radioColumns,
  standingOf,
  standings,
  stepName,
  stepOf,
} from '../../../renderer/fleet/step.ts'
import { demoBench } from '../../../shared/demo/bench.ts'
import { checkFit, firstBroken, RULES } from '../../../shared/fit/rules.ts'
import { situationOf } from '../../../shared/fit/situation.ts'
import type { Bench } from '../../../shared/model/bench.ts'

const bench = demoBench()
const receiver = (id: string, on: Bench = bench) => {
  const found = on.receivers.find(r => r.id === id)
  if (found === undefined) throw new Error(`no receiver ${id}`)
  return found
}
const withReceiver = (id: string, change: Partial<Bench['receivers'][number]>): Bench => ({
  ...bench,
  receivers: bench.receivers.map(r => (r.id === id ? { ...r, ...change } : r)),
})

describe('how a receiver stands', () => {
  it('has every finding of the rules, and none of its own', () => {
    for (const r of bench.receivers)
      expect(standingOf(bench, r).findings.map(f => [f.rule.id, f.holds, f.sentence])).toEqual(
        (checkFit(bench, r.id, 'wireless') ?? []).map(f => [f.rule.id, f.holds, f.sentence]),
      )
  })

  it('calls an update by air possible exactly where no simulated device would refuse and all is known', () => {
    for (const { receiver: r, byAir } of standings(bench).values()) {
      const situation = situationOf(bench, r.id, 'wireless', undefined)
      const refused = (['computer', 'card', 'radio', 'module', 'receiver', 'physics'] as const).some(
        who => situation && firstBroken(situation, who),
      )
      expect(byAir === 'out-of-step', r.id).toBe(refused)
    }
  })

  it('is out of step for what the link breaks, not for what the table lacks', () => {
    const noCards = { ...bench, radios: bench.radios.map(({ cardId: _, ...radio }) => radio) }
    const stands = standingOf(noCards, receiver('wren-trainer'))
    expect(stands.step).toBe('in-step')
    expect(stands.byAir).toBe('out-of-step')
  })

  it.each([
    ['firmware', 'unknown', 'not-known'],
    ['generation', 'unknown', 'not-known'],
    ['region', 'unknown', 'not-known'],
    ['region', 'hopping', 'out-of-step'],
    ['generation', 2, 'out-of-step'],
    ['firmware', '1.0.0', 'out-of-step'],
    ['firmware', '2.4.0', 'in-step'],
  ] as const)('with %s %s is %s', (field, value, step) => {
    const changed = withReceiver('wren-trainer', { [field]: value })
    expect(standingOf(changed, receiver('wren-trainer', changed)).step).toBe(step)
  })

  it('with a broken and an unknown finding is out of step', () => {
    const changed = withReceiver('wren-trainer', { region: 'unknown', generation: 2 })
    expect(standingOf(changed, receiver('wren-trainer', changed)).step).toBe('out-of-step')
  })

  it('does not count a warning as a stop', () => {
    const near = { ...bench, wiring: { ...bench.wiring, distanceMetres: 0.01 } }
    const { findings, byAir } = standingOf(near, receiver('wren-trainer'))
    expect(findings.some(f => f.rule.severity === 'warn' && f.holds === 'no')).toBe(true)
    expect(byAir).toBe('in-step')
    expect(stepOf([])).toBe('in-step')
  })

  it('of an unknown type is not known', () => {
    const changed = withReceiver('wren-trainer', { typeId: 'gone' })
    expect(standingOf(changed, receiver('wren-trainer', changed))).toMatchObject({
      findings: [],
      step: 'not-known',
      byAir: 'not-known',
    })
  })

  it('sorts every rule under what it is about', () => {
    for (const rule of RULES) {
      const finding = { rule, holds: 'yes' as const, sentence: '', evidence: [], remedies: [] }
      expect(['link', 'by-air', 'table', 'image']).toContain(concernOf(finding))
    }
  })
})

describe('the cells of the matrix', () => {
  it('say of the bound module what the receiver itself stands like', () => {
    for (const { receiver: r, step } of standings(bench).values())
      if (r.boundTo) expect(cellOf(bench, r, r.boundTo), r.id).toMatchObject({ bound: true, step })
  })

  it('say of any other module what the rules say once the receiver is bound to it', () => {
    for (const r of bench.receivers)
      for (const module of bench.modules) {
        const bound = withReceiver(r.id, { boundTo: module.id })
        expect(cellOf(bench, r, module.id).step, `${r.id} ${module.id}`).toBe(
          standingOf(bound, receiver(r.id, bound)).step,
        )
      }
  })

  it('give the first reason in a sentence', () => {
    expect(cellOf(bench, receiver('curlew-survey'), 'inner-tarn')).toEqual({
      bound: false,
      step: 'out-of-step',
      because: 'The module is on 2.4GHz, the receiver works on 868MHz, 915MHz.',
    })
    expect(cellOf(bench, receiver('wren-trainer'), 'inner-tarn').because).toBeUndefined()
  })

  it('stand under their radio, loose modules last', () => {
    const loose = { ...bench, radios: bench.radios.filter(radio => radio.id !== 'fell') }
    expect(radioColumns(loose).map(c => [c.radio?.id, c.modules.map(m => m.id)])).toEqual([
      ['tarn', ['inner-tarn', 'reach-tarn']],
      ['quay', ['inner-quay']],
      [undefined, ['early-fell']],
    ])
  })
})

describe('remedies', () => {
  const remedies = [...standings(bench).values()].flatMap(s =>
    s.findings.flatMap(f => f.remedies.map(remedy => ({ s, f, remedy }))),
  )

  it('that change the bench make their rule hold; the others change nothing', () => {
    expect(remedies.length).toBeGreaterThan(5)
    for (const { s, f, remedy } of remedies) {
      const after = remedy.apply(bench)
      if (!isChange(remedy)) expect(after).toBe(bench)
      else {
        const again = checkFit(after, s.receiver.id, 'wireless')?.find(x => x.rule.id === f.rule.id)
        expect(again?.holds, `${s.receiver.id} ${remedy.id}`).toBe('yes')
      }
    }
  })

  it('say whom else they bring into step or put out of it', () => {
    const early = standingOf(bench, receiver('finch-foamie'))
    const remedy = early.findings.flatMap(f => f.remedies).find(r => r.id === 'set-module-generation')
    expect(remedy && effectOf(bench, remedy, 'finch-foamie')).toEqual({
      gains: ['Finch in the buggy', 'Finch in the springer boat'],
      loses: ['Heron in the scale tug', 'Dunlin in the sailing ketch'],
    })
  })

  it('give the undo step its name', () => {
    expect(stepName('Set the module for generation 2.')).toBe('Set the module for generation 2')
    expect(stepName('Update the module to firmware >=3.0.0 <5.0.0.')).toBe(
      'Update the module to firmware >=3.0.0 <5.0.0',
    )
  })
})
