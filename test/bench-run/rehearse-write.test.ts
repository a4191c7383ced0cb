import { describe, expect, it } from 'vitest'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import {
  holdsImage,
  type RehearseWriteOptions,
  rehearseWrite,
} from '../../shared/bench-run/rehearse-write.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { startable } from '../../shared/sim/memory.ts'
import { planned } from '../support/write-plan.ts'

function rehearsal(change: Partial<WritePlan> = {}, options: RehearseWriteOptions = {}) {
  const write = planned(change)
  const done = rehearseWrite(write, options)
  if (!done.ok) throw new Error(done.problems[0].message)
  return { write, ...done.value }
}

describe('the rehearsal of a write', () => {
  it('over the bus ends with a receiver that runs the image', () => {
    const { rehearsed, memory, end, write, trace } = rehearsal()
    expect(rehearsed).toMatchObject({ ok: true, attempts: 1, retries: 0 })
    expect(end?.state).toBe('runs-new')
    expect(holdsImage(memory, write)).toBe(true)
    expect(startable(memory)?.version).toEqual({ major: 2, minor: 4, patch: 0 })
    expect(rehearsed.steps.map(s => s.step)).toEqual([
      'check',
      'quiet',
      'enter',
      'identify',
      'begin',
      'erase',
      'write',
      'verify',
      'commit',
      'restart',
    ])
    expect(trace.phases.map(p => p.id)).toEqual(rehearsed.steps.map(s => s.step))
    // The time of trace and steps is one.
    expect(trace.phases.map(p => Math.round(p.startNs / 1e6))).toEqual(rehearsed.steps.map(s => s.startMs))
  })

  it('through the boot ROM backs up, writes, reads back, and does not claim more than it can show', () => {
    const { rehearsed, memory, end, write } = rehearsal({ dialect: 'st-an3155' })
    expect(end?.text).toBe('')
    expect(end?.backup?.length).toBe(8192)
    expect(holdsImage(memory, write)).toBe(true)
    expect(end).toMatchObject({ state: 'written-not-proven', proof: { verified: 'read-back' } })
    expect(rehearsed.ok).toBe(true)
    expect(rehearsed.sentence).toMatch(/cannot show that the receiver runs it/)
    expect(rehearsed.steps.map(s => s.step)).toContain('backup')
  })

  it('through the boot ROM ends with a receiver that starts by itself where its program notes itself', () => {
    const bench = demoBench()
    const image = { kind: 'bench', imageId: 'plover-10-2.3.0' } as const
    const change = { bench, receiverId: 'plover-soarer', image, dialect: 'st-an3155' } as const
    const wired = { adapterId: 'service-adapter', cableId: 'service-cable' }
    const { rehearsed, memory, end } = rehearsal({ ...change, ...wired })
    expect(startable(memory)?.version).toEqual({ major: 2, minor: 3, patch: 0 })
    expect(end).toMatchObject({ state: 'written-not-proven' })
    expect(rehearsed.sentence).toMatch(/cannot show that the receiver runs it\.$/)
    // Without that, its own boot loader knows nothing of what was written.
    const types = bench.catalogue.receiverTypes.map(({ boot, ...type }) => ({
      ...type,
      boot: { ...boot, notesRomStart: false },
    }))
    const plain = { ...bench, catalogue: { ...bench.catalogue, receiverTypes: types } }
    const other = rehearsal({ ...change, ...wired, bench: plain })
    expect(startable(other.memory)).toBeUndefined()
    expect(other.rehearsed.sentence).toMatch(/has no record of this image and waits/)
  })

  it('shows that the first write fails and the second works', () => {
    const { rehearsed } = rehearsal({}, { faults: [{ name: 'first-write-fails' }] })
    expect(rehearsed).toMatchObject({ ok: true, attempts: 2 })
    expect(rehearsed.steps.map(s => s.step)).toContain('pause')
  })

  it('is not ok where the receiver does not answer', () => {
    const { rehearsed, end } = rehearsal({}, { faults: [{ name: 'silent' }] })
    expect(rehearsed.ok).toBe(false)
    expect(end?.state).toBe('as-before')
  })

  it('is the same each time, and later with an adapter that hands over late', () => {
    const [a, b] = [rehearsal(), rehearsal()]
    expect(a.rehearsed).toEqual(b.rehearsed)
    const late = rehearsal({}, { latencyMs: 16 })
    expect(late.rehearsed.ok).toBe(true)
    expect(late.rehearsed.simulatedMs).toBeGreaterThan(a.rehearsed.simulatedMs + 16 * 90)
  })

  it('takes as long as the rate that was chosen', () => {
    const [usual, half] = [
      rehearsal({ dialect: 'st-an3155' }),
      rehearsal({ dialect: 'st-an3155', baud: 57_600 }),
    ]
    expect([usual.rehearsed.ok, half.rehearsed.ok]).toEqual([true, true])
    const writeMs = ({ rehearsed }: typeof usual) => {
      const step = rehearsed.steps.find(s => s.step === 'write')
      return (step?.endMs ?? 0) - (step?.startMs ?? 0)
    }
    expect(writeMs(half)).toBeGreaterThan(1.3 * writeMs(usual))
  })

  it('does not go through at a rate that the receiver does not speak', () => {
    const { rehearsed, end } = rehearsal({ baud: 9600 })
    expect(rehearsed.ok).toBe(false)
    expect(end).toMatchObject({ ended: 'failed', state: 'as-before' })
  })

  it('can be stopped before any effect, as a program that is killed', () => {
    const { end, rehearsed, effects } = rehearsal({}, { stopBefore: (_, index) => index === 60 })
    expect([end, rehearsed.ok, effects]).toEqual([undefined, false, 61])
  })
})
