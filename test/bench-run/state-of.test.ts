import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Announcer } from '../../shared/bench-run/announcer.ts'
import { holdsImage, rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import { stateOf } from '../../shared/bench-run/state-of.ts'
import type { ReceiverState } from '../../shared/dialect/plan.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { startable } from '../../shared/sim/memory.ts'
import { planned } from '../support/write-plan.ts'

/** Cuts a session before an effect, as a program that is killed there, and looks at what the receiver really holds. */
function cutAt(dialect: string, at: number, faults: readonly FaultChoice[] = []) {
  const write = planned({ dialect })
  const before = memoryOf(write.plan.bench, write.type, write.unit)
  const announcer = new Announcer({
    imageOctets: write.ready.image.octets.length,
    beginChanges: dialect !== 'preflash-bus',
  })
  const log: LogEvent[] = []
  let effects = 0
  const done = rehearseWrite(write, {
    faults,
    afterMs: 2000,
    stopBefore: (effect, index) => {
      effects = index
      // Committed, and then either carried out or not: the session is cut after committing.
      log.push(...announcer.before(effect, index * 20))
      return index === at
    },
  })
  if (!done.ok) throw new Error(done.problems[0].message)
  return { ...done.value, write, before, log, effects }
}
type Cut = ReturnType<typeof cutAt>

const same = (a: Uint8Array, b: Uint8Array) => a.every((octet, i) => octet === b[i])
const truth: Record<ReceiverState, (cut: Cut) => boolean> = {
  'as-before': ({ before, memory }) =>
    same(before.program.octets, memory.program.octets) && same(before.record.octets, memory.record.octets),
  'in-boot-loader': ({ memory }) => startable(memory) === undefined,
  'partly-written': ({ memory }) => startable(memory) === undefined,
  'written-not-proven': cut => holdsImage(cut.memory, cut.write),
  'runs-new': ({ memory }) => startable(memory)?.version.minor === 4,
  'not-known': () => true,
}
const isTrue = (cut: Cut): boolean => truth[stateOf(cut.log).state](cut)

describe('the state of a receiver by what was committed', () => {
  it.each(['preflash-bus', 'st-an3155'])('is true at every cut of a write by %s', dialect => {
    const { effects } = cutAt(dialect, -1)
    const states = new Set<string>()
    const wrong: number[] = []
    const every = dialect === 'preflash-bus' ? 1 : 4
    for (let at = 0; at <= effects; at += every) {
      const cut = cutAt(dialect, at)
      states.add(stateOf(cut.log).state)
      if (!isTrue(cut)) wrong.push(at)
    }
    expect(wrong).toEqual([])
    // It says something, and not that nothing is known all the time.
    expect([...states]).toEqual(expect.arrayContaining(['as-before', 'partly-written', 'written-not-proven']))
  })

  it('is true at any cut where the first write fails and a second one is made', () => {
    const faults = [{ name: 'first-write-fails' }]
    const { effects } = cutAt('preflash-bus', -1, faults)
    fc.assert(
      fc.property(fc.integer({ min: 0, max: effects }), at => isTrue(cutAt('preflash-bus', at, faults))),
      { numRuns: 150 },
    )
  })

  it('is as before as long as nothing was announced that changes anything', () => {
    expect(stateOf([]).state).toBe('as-before')
    expect(stateOf([{ kind: 'phase', phase: 'enter', attempt: 1 }]).state).toBe('as-before')
  })

  it('is not known between the announcement and the first sign of what was announced', () => {
    const erase: LogEvent = { kind: 'effect', effect: 'erase', text: '' }
    const write: LogEvent = { kind: 'effect', effect: 'write', offset: 0, bytes: 10, text: '' }
    expect(stateOf([erase]).state).toBe('not-known')
    expect(stateOf([erase, { kind: 'progress', done: 1, total: 8 }]).state).toBe('in-boot-loader')
    expect(stateOf([write]).state).toBe('not-known')
    expect(stateOf([erase, write]).state).toBe('partly-written')
    expect(stateOf([write, { kind: 'progress', done: 1, total: 8 }]).state).toBe('partly-written')
  })

  it('is not known while the last part is written, for the image may be whole', () => {
    const write: LogEvent = { kind: 'effect', effect: 'write', offset: 0, bytes: 90, text: '' }
    const last: LogEvent = { ...write, offset: 90, bytes: 10, last: true }
    const progress: LogEvent = { kind: 'progress', done: 90, total: 100 }
    expect(stateOf([write, progress]).state).toBe('partly-written')
    expect(stateOf([write, progress, last]).state).toBe('not-known')
  })

  it('is that it runs the image once that was proven', () => {
    const restart: LogEvent = { kind: 'effect', effect: 'restart', text: '' }
    expect(stateOf([restart]).state).toBe('not-known')
    expect(stateOf([restart, { kind: 'outcome', outcome: 'updated', text: '' }]).state).toBe('runs-new')
  })

  it('tells what to do in each state', () => {
    for (const event of ['erase', 'write', 'verify', 'commit', 'restart'] as const)
      expect(stateOf([{ kind: 'effect', effect: event, text: '' }]).next).toMatch(/\.$/)
  })
})

describe('a port that did not open', () => {
  const opening: LogEvent = { kind: 'effect', effect: 'line', text: 'Open the left adapter' }

  it('is no reason to switch the receiver off: another program may be writing on it', () => {
    expect(stateOf([opening])).toMatchObject({ state: 'as-before', is: 'This write sent nothing to it.' })
    expect(stateOf([opening]).next).toMatch(/Leave the receiver as it is/)
    expect(stateOf([opening]).next).not.toMatch(/[Ss]witch/)
  })

  it('is told from one that did, where the receiver has been spoken to', () => {
    const known = stateOf([opening, { kind: 'phase', phase: 'enter', attempt: 1 }])
    expect(known).toMatchObject({ state: 'as-before', is: expect.stringMatching(/Nothing was changed/) })
  })
})
