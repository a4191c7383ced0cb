import { describe, expect, it } from 'vitest'
import { Announcer } from '../../shared/bench-run/announcer.ts'
import { troubleOf } from '../../shared/bench-run/diagnosis.ts'
import { endingOf, loggedOutcome, sessionEnding, stateEvent } from '../../shared/bench-run/ending.ts'
import { simulatedEnd } from '../../shared/bench-run/far-ends.ts'
import { whoIsThere } from '../../shared/bench-run/identify.ts'
import { recoveryOf } from '../../shared/bench-run/recovery.ts'
import { rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import { VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import { planned, writePlan } from '../support/write-plan.ts'

/** What a session that was cut before this effect has committed. */
function logUpTo(dialect: string, at: number, faults: FaultChoice[] = []): LogEvent[] {
  const write = planned({ dialect })
  const announcer = new Announcer({ imageOctets: write.ready.image.octets.length, beginChanges: false })
  const log: LogEvent[] = []
  rehearseWrite(write, {
    faults,
    stopBefore: (effect, index) => {
      log.push(...announcer.before(effect, index * 20))
      return index === at
    },
  })
  return log
}

describe('the recovery after a write that broke off', () => {
  it.each([0, 20, 60, 75, 90, 120, 200, 260, 300, 340, 400])(
    'works on the simulated receiver in that very state: cut before effect %d',
    at => {
      const found = recoveryOf(planned(), logUpTo('preflash-bus', at))
      if (!found.ok) throw new Error(found.problems[0].message)
      expect(found.value.recovery.rehearsed.outcome).toBe('updated')
      expect(found.value.rehearsed.ok).toBe(true)
      expect(found.value.recovery.steps.length).toBeGreaterThan(1)
      expect(found.value.recovery.steps[0].caution).toMatch(/Propeller off/)
      // What the receiver is in stands above the steps, and is not said again among them.
      for (const { expect: then } of found.value.recovery.steps)
        expect(then).not.toContain(found.value.known.is)
    },
  )

  it.each(['st-an3155', 'xmodem-crc'])('works by %s too', dialect => {
    for (const at of [60, 200, 500]) {
      const found = recoveryOf(planned({ dialect }), logUpTo(dialect, at))
      expect(found.ok && found.value.rehearsed.ok).toBe(true)
    }
  })
})

describe('the end of a write', () => {
  const log = logUpTo('preflash-bus', 200)

  it('that was cancelled says what the receiver is in, and never that it runs the image', () => {
    const end = endingOf({
      ended: { how: 'cancelled', code: 'cancelled', text: 'It was cancelled.' },
      ...{ log, backupFile: null, seconds: 3.21, afterwards: ['Bind.'] },
    })
    expect(end).toMatchObject({ outcome: 'cancelled', state: 'partly-written', seconds: 3.2, afterwards: [] })
    expect(sessionEnding(end)).toBe('cancelled')
    expect(loggedOutcome(end, false)).toBe('needs-cable')
    expect(loggedOutcome(end, true)).toBe('needs-boot-rom')
    expect(stateEvent(end, false)).toMatchObject({ kind: 'state', state: 'in-boot-loader' })
  })

  it('that went through unproven is told as unproven', () => {
    const done = rehearseWrite(planned({ dialect: 'st-an3155' }))
    if (!done.ok || done.value.end === undefined) throw new Error('it was not rehearsed')
    const end = endingOf({
      ended: { how: 'returned', end: done.value.end },
      ...{ log: [], backupFile: 'b', seconds: 1, afterwards: ['Bind.'] },
    })
    expect(end).toMatchObject({ outcome: 'unproven', state: 'written-not-proven', afterwards: ['Bind.'] })
    expect(loggedOutcome(end, true)).toBeNull()
  })
})

describe('what a failed session knows already', () => {
  const trouble = (faults: FaultChoice[]) => troubleOf(logUpTo('preflash-bus', -1, faults))

  it('is the symptom and the facts that the Diagnose view asks for', () => {
    expect(trouble([])).toBeUndefined()
    expect(trouble([{ name: 'silent' }])).toEqual({
      symptom: 'no-answer',
      answers: { 'image-passes': 'yes', 'second-try': 'no' },
    })
    expect(trouble([{ name: 'cut-at-block', value: '10' }])).toMatchObject({
      symptom: 'stops',
      answers: { 'receiver-named': 'yes', 'second-try': 'no' },
    })
    expect(trouble([{ name: 'verify-differs' }])?.symptom).toBe('verify-fails')
  })

  it.each([
    [true, 'came-back', 'yes'],
    [true, 'silence', 'no'],
    // A wire for each direction, or somebody who talks over it: neither answers whether what is sent comes back.
    [true, 'answers-only', undefined],
    [true, 'not-known', undefined],
    // One wire where two were said: the near end is sound all the same.
    [false, 'came-back', 'yes'],
    [false, 'answers-only', undefined],
    [false, 'silence', undefined],
  ] as const)('echo expected: %s, seen: %s; the end of the write hands over %s', (expected, seen, answer) => {
    const end = endingOf({
      ended: { how: 'stopped', code: 'no-answer', text: 'Nobody answers.' },
      log: logUpTo('preflash-bus', -1, [{ name: 'silent' }]),
      ...{ backupFile: null, seconds: 1, afterwards: [], echo: { expected, seen } },
    })
    expect(end.diagnosis?.symptom).toBe('no-answer')
    expect(end.diagnosis?.answers['echo-back']).toBe(answer)
  })
})

describe('who is there', () => {
  const ask = (dialect: string, faults: FaultChoice[] = [], bench = writePlan().bench) => {
    const write = planned({ dialect, bench })
    const laid = simulatedEnd(write, { seed: 1, faults })
    if (!laid.ok) throw new Error(laid.problems[0].message)
    const host = new VirtualHost(laid.value.far, { store: () => ({ got: 'failed', why: 'absent' }) })
    return { who: host.run(whoIsThere(write))?.value, memory: laid.value.memory, write }
  }

  it('is told by the receiver, and nothing is changed by asking', () => {
    const { who, memory, write } = ask('preflash-bus')
    expect(who).toMatchObject({ there: true, right: true, current: false })
    expect(who?.identity).toMatch(/Wren/)
    const before = memoryOf(write.plan.bench, write.type, write.unit)
    expect([...memory.program.octets]).toEqual([...before.program.octets])
    expect(ask('st-an3155').who).toMatchObject({ there: true, right: true })
    expect(ask('xmodem-crc').who).toMatchObject({ there: true })
  })

  it('runs the image already only where it can say so: three numbers do not show a pre-release', () => {
    const { bench } = writePlan()
    const runs = (version: string) => ({
      ...bench,
      receivers: bench.receivers.map(r => ({ ...r, firmware: '2.4.0' })),
      images: bench.images.map(i => (i.id === 'wren-6-2.4.0' ? { ...i, version } : i)),
    })
    expect(ask('preflash-bus', [], runs('2.4.0')).who).toMatchObject({ right: true, current: true })
    expect(ask('preflash-bus', [], runs('2.4.0-rc1')).who).toMatchObject({ right: true, current: false })
  })

  it('is nobody where nobody answers, and somebody else where it is', () => {
    for (const dialect of ['preflash-bus', 'st-an3155', 'xmodem-crc'])
      expect(ask(dialect, [{ name: 'silent' }]).who?.there).toBe(false)
    expect(ask('preflash-bus', [{ name: 'other-receiver' }]).who).toMatchObject({ there: true, right: false })
  })
})
