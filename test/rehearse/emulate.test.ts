import { describe, expect, it } from 'vitest'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { faultsOf, LIVE_DIALECTS } from '../../shared/rehearse/live-dialects.ts'
import { LIVE_FAULTS, planLiveFaults } from '../../shared/rehearse/live-faults.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { writeReceiverState } from '../../shared/sim/receiver-state.ts'
import { emulationRequest } from '../support/emulated.ts'

const problemOf = (change: Parameters<typeof emulationRequest>[0]) => {
  const laid = layEmulation(emulationRequest(change))
  return laid.ok ? undefined : `${laid.problems[0].code} ${laid.problems[0].field ?? ''}`.trim()
}

describe('an emulated receiver', () => {
  it('holds at first what the bench says it runs', () => {
    const laid = layEmulation(emulationRequest())
    if (!laid.ok) throw new Error(laid.problems[0].message)
    expect(laid.value.held()).toMatchObject({ outcome: 'unchanged', firmware: '2.1.0', flashOperations: 0 })
    expect(laid.value.line).toEqual({ baud: 115_200, parity: 'none', stopBits: 1 })
  })

  it('is set as its dialect says: ST AN3155 section 2, even parity', () => {
    const laid = layEmulation(emulationRequest({ dialect: 'st-an3155' }))
    expect(laid.ok && laid.value.line).toEqual({ baud: 115_200, parity: 'even', stopBits: 1 })
  })

  it.each(LIVE_DIALECTS.flatMap(d => faultsOf(d).map(f => [d.name, f.name] as const)))(
    'can be played by %s with the fault %s',
    (dialect, name) => {
      const laid = layEmulation(emulationRequest({ dialect, faults: [{ name }] }))
      if (!laid.ok) throw new Error(laid.problems[0].message)
      const { live } = laid.value
      live.hear(Uint8Array.of(0x7f), msToNs(100))
      live.runTo(msToNs(20_000))
      expect(laid.value.held().flashOperations).toBe(0)
    },
  )

  it('says what is wrong with what was asked for', () => {
    expect(problemOf({ receiverId: 'nobody' })).toBe('bench.no-receiver receiver')
    expect(problemOf({ dialect: 'smoke-signals' })).toBe('dialect.unknown dialect')
    expect(problemOf({ faults: [{ name: 'meteor' }] })).toBe('fault.unknown fault')
    expect(problemOf({ faults: [{ name: 'cut-at-block', value: '0' }] })).toBe(
      'fault.value fault cut-at-block',
    )
    expect(problemOf({ faults: [{ name: 'stall', value: '1+x' }] })).toBe('fault.value fault stall')
    expect(problemOf({ faults: [{ name: 'silent', value: '1' }] })).toBe('fault.value fault silent')
    expect(problemOf({ faults: [{ name: 'line-noise', value: 'much' }] })).toBe(
      'fault.value fault line-noise',
    )
    expect(problemOf({ dialect: 'st-an3155', faults: [{ name: 'chatty-sensor' }] })).toBe(
      'fault.unknown fault',
    )
    expect(problemOf({ state: { text: '{', file: 'kept.json' } })).toBe('state.not-json')
  })

  it('another receiver than the kept one is not taken for it', () => {
    const laid = layEmulation(emulationRequest())
    if (!laid.ok) throw new Error(laid.problems[0].message)
    const text = writeReceiverState(laid.value.type.id, laid.value.memory)
    expect(problemOf({ state: { text, file: 'kept.json' }, faults: [{ name: 'other-receiver' }] })).toBe(
      'state.other-type typeId',
    )
  })
})

describe('the faults of an emulated table', () => {
  it('have a name each, and words', () => {
    expect(new Set(LIVE_FAULTS.map(f => f.name)).size).toBe(LIVE_FAULTS.length)
    for (const fault of LIVE_FAULTS) expect(fault.mechanism).toMatch(/^[A-Z].*\.$/)
  })

  it('a stall says when and how long', () => {
    const plan = (value?: string) => {
      const planned = planLiveFaults(
        [value === undefined ? { name: 'stall' } : { name: 'stall', value }],
        true,
      )
      return planned.ok && planned.value.stall
    }
    expect(plan()).toEqual({ afterMs: 2000, forMs: 5000 })
    expect(plan('8+3')).toEqual({ afterMs: 8000, forMs: 3000 })
    expect(plan('0.25')).toEqual({ afterMs: 250, forMs: 5000 })
  })
})
