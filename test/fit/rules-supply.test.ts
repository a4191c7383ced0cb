import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { RULES } from '../../shared/fit/rules.ts'
import { supplyRules } from '../../shared/fit/rules-supply.ts'
import { situationOf } from '../../shared/fit/situation.ts'

describe('the rules of the supply', () => {
  it('are among all rules, each once, and nobody but physics stands by them', () => {
    for (const rule of supplyRules) {
      expect(RULES.filter(r => r === rule)).toHaveLength(1)
      expect(rule.enforcedBy).toBe('physics')
    }
  })

  it('hold on the demo by cable for what its port can feed', () => {
    const s = situationOf(demoBench(), 'wren-trainer', 'cable', undefined)!
    const applying = supplyRules.filter(rule => rule.applies(s))
    expect(applying.length).toBeGreaterThan(2)
    for (const rule of applying) expect(rule.check(s).holds, rule.id).toBe('yes')
  })

  it('find a tired pack that cannot carry the receiver', () => {
    const bench = demoBench()
    const tired = { ...bench, supplies: bench.supplies.map(p => ({ ...p, internalOhms: 40 })) }
    const s = situationOf(tired, 'wren-trainer', 'wireless', undefined)!
    expect(supplyRules.some(rule => rule.applies(s) && rule.check(s).holds === 'no')).toBe(true)
  })
})
