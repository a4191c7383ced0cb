import { describe, expect, it } from 'vitest'
import {
  devicesAt,
  phaseIndexAt,
  progressAt,
  supplyAt,
  supplyRange,
} from '../../../../renderer/rehearse/playback/state-at.ts'
import { fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const trace = fixtureTrace({ imageBytes: 8192 })
const phase = (id: string, attempt: number) =>
  trace.phases.findIndex(p => p.id === id && p.attempt === attempt)

describe('the session at a moment', () => {
  it('knows what each device was last said to be', () => {
    const change = trace.devices.find(d => d.state === 'in its boot loader')!
    expect(devicesAt(trace.devices, change.atNs - 1).get('receiver')?.state).toBe('running 2.1.0')
    expect(devicesAt(trace.devices, change.atNs).get('receiver')?.state).toBe('in its boot loader')
    expect(devicesAt(trace.devices, -1).size).toBe(0)
  })

  it('knows the phase under way', () => {
    expect(phaseIndexAt(trace.phases, -1)).toBe(-1)
    for (let i = 0; i < trace.phases.length; i++) {
      const { startNs, endNs } = trace.phases[i]
      if (endNs > startNs) expect(phaseIndexAt(trace.phases, (startNs + endNs) / 2)).toBe(i)
    }
  })

  it('knows how far a phase has got, and keeps phases apart', () => {
    const write = phase('write', 2)
    const { startNs, endNs } = trace.phases[write]
    expect(progressAt(trace, write, startNs - 1)).toBeUndefined()
    const half = progressAt(trace, write, (startNs + endNs) / 2)!
    expect(half.total).toBe(8192)
    expect(half.done / half.total).toBeGreaterThan(0.4)
    expect(half.done / half.total).toBeLessThan(0.6)
    expect(progressAt(trace, write, endNs)).toEqual({ done: 8192, total: 8192 })
    expect(progressAt(trace, phase('erase', 2), endNs)).toMatchObject({ total: 8 })
  })

  it('holds the last voltage until the next', () => {
    const { supply } = trace
    expect(supplyAt(supply, -1)).toBeUndefined()
    expect(supplyAt(supply, supply.atNs[3] + 1)?.volts).toBe(supply.volts[3])
    const [least, most] = supplyRange(supply, 0, trace.endNs + 1)!
    expect(least).toBeCloseTo(Math.min(...supply.volts), 6)
    expect(most).toBeCloseTo(Math.max(...supply.volts), 6)
    expect(supplyRange(supply, supply.atNs[2] + 1, supply.atNs[2] + 2)).toEqual([
      supply.volts[2],
      supply.volts[2],
    ])
  })
})
