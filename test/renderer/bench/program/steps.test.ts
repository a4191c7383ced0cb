import { describe, expect, it } from 'vitest'
import {
  nextStep,
  type Progress,
  STEPS,
  stepAfter,
  stepState,
} from '../../../../renderer/bench/program/steps.ts'

const all = ['port', 'wiring', 'what', 'rehearse'] as const
const progress = (done: readonly string[]): Progress => ({
  port: done.includes('port'),
  wiring: done.includes('wiring'),
  what: done.includes('what'),
  rehearse: done.includes('rehearse'),
})
const everyProgress = Array.from({ length: 16 }, (_, bits) => progress(all.filter((_, i) => bits & (1 << i))))

describe('the way to a write', () => {
  it('asks for the port first, and for the write once all else is done', () => {
    expect(nextStep(progress([]))).toBe('port')
    expect(nextStep(progress(['port']))).toBe('wiring')
    expect(nextStep(progress([...all]))).toBe('look')
  })

  it('never lets anything be next while something before it is not done', () => {
    for (const p of everyProgress) {
      const next = STEPS.indexOf(nextStep(p))
      expect(all.slice(0, next).every(step => p[step])).toBe(true)
      if (next < all.length) expect(p[all[next]]).toBe(false)
    }
  })

  it('has one next step, done ones before it, later ones after it', () => {
    for (const p of everyProgress) {
      const states = STEPS.map(step => stepState(p, step))
      expect(states.filter(state => state === 'next')).toHaveLength(1)
      const next = states.indexOf('next')
      expect(states.slice(0, next).every(state => state === 'done')).toBe(true)
      expect(states.slice(next + 1).every(state => state === 'later')).toBe(true)
    }
  })

  it('leads back to what was left out', () => {
    expect(stepAfter(progress(['what']), 'what')).toBe('port')
    expect(stepAfter(progress(['port', 'what']), 'port')).toBe('wiring')
    expect(stepAfter(progress([...all]), 'look')).toBe('look')
  })

  it('passes nothing by that the workbench has filled in itself', () => {
    expect(stepAfter(progress(['port', 'wiring', 'what']), 'wiring')).toBe('what')
    expect(stepAfter(progress([...all]), 'port')).toBe('wiring')
    expect(stepAfter(progress([...all]), 'rehearse')).toBe('look')
  })
})
