import { describe, expect, it } from 'vitest'
import type { Rehearsed, Said } from '../../shared/bench-run/check.ts'
import { differences } from '../../shared/bench-run/compare.ts'
import { differsInWord } from '../../shared/bench-run/compare-said.ts'
import { differsInAmount, differsInTime } from '../../shared/bench-run/compare-steps.ts'
import type { Difference } from '../../shared/bench-run/lane.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { type RehearseWriteOptions, rehearseWrite } from '../../shared/bench-run/rehearse-write.ts'
import type { StepTime } from '../../shared/bench-run/step-log.ts'
import { repeatsOf, Watched } from '../../shared/bench-run/watched.ts'
import { planned, writePlan } from '../support/write-plan.ts'

const rehearsed: Rehearsed = {
  ...{ key: 'k', ok: true, sentence: '', simulatedMs: 6000, attempts: 1, retries: 0 },
  steps: [
    { step: 'enter', attempt: 1, startMs: 0, endMs: 1000 },
    { step: 'write', attempt: 1, startMs: 1000, endMs: 5000 },
    { step: 'verify', attempt: 1, startMs: 5000, endMs: 6000 },
  ],
}
const step = (name: StepTime['step'], startMs: number, endMs: number | null, attempt = 1): StepTime => ({
  ...{ step: name, attempt, startMs, endMs },
})
const asRehearsed = [
  step('open', 0, 50),
  step('enter', 50, 1000),
  step('write', 1000, 5100),
  step('verify', 5100, 6200),
]
const kinds = (steps: StepTime[], more: Partial<Parameters<typeof differences>[1]> = {}) =>
  differences(rehearsed, { steps, retries: 0, nowMs: 7000, ...more }).map(d => d.kind)

describe('reality against the rehearsal', () => {
  it('has nothing to say where it goes as rehearsed', () => {
    expect(kinds(asRehearsed, { endedWell: true })).toEqual([])
  })

  it('says that a step was slower, is slower already, or was over much too soon', () => {
    expect(kinds([asRehearsed[0], step('enter', 50, 3000)])).toEqual(['slower'])
    expect(kinds([asRehearsed[0], asRehearsed[1], step('write', 1000, null)], { nowMs: 9000 })).toEqual([
      'slower',
    ])
    expect(kinds([asRehearsed[0], asRehearsed[1], step('write', 1000, null)], { nowMs: 3000 })).toEqual([])
    expect(kinds([...asRehearsed.slice(0, 2), step('write', 1000, 1800)])).toEqual(['faster'])
  })

  it('does not call a step quick that broke off', () => {
    const broke = [...asRehearsed.slice(0, 2), step('write', 1000, 1300)]
    expect(kinds([...broke, step('pause', 1300, 3000)])).toEqual(['another-order'])
    expect(kinds(broke, { endedWell: false, endText: 'It broke off.' })).toEqual(['other-end'])
    expect(kinds([...broke, step('verify', 1300, 2300)])).toEqual(['faster'])
  })

  it('says that it was asked again more often, went another way, and ended otherwise', () => {
    expect(kinds(asRehearsed, { retries: 2 })).toEqual(['more-retries'])
    const again = [...asRehearsed.slice(0, 3), step('pause', 5100, 6000), step('enter', 6000, null, 2)]
    const [first] = differences(rehearsed, { steps: again, retries: 0, nowMs: 6100 })
    expect(first).toMatchObject({
      kind: 'another-order',
      expected: '“Verify”',
      seen: '“Pause before another attempt”',
    })
    expect(kinds(asRehearsed, { endedWell: false, endText: 'It broke off.' })).toEqual(['other-end'])
  })
})

/** A write on an emulated receiver, held against the rehearsal of its plan; the plan of the emulated one may differ. */
function marks(
  change: Partial<WritePlan>,
  real: RehearseWriteOptions = {},
  realChange: Partial<WritePlan> = change,
): Difference[] {
  const run = (plan: Partial<WritePlan>, options: RehearseWriteOptions) => {
    const done = rehearseWrite(planned(plan), options)
    if (!done.ok) throw new Error(done.problems[0].message)
    return done.value
  }
  const { rehearsed } = run(change, {})
  const { watched, end, rehearsed: told } = run(realChange, real)
  const { steps, repeats, failures, said, waits } = watched
  const ended = { endedWell: end?.ended === 'done', endText: end?.text }
  const seen = {
    steps,
    repeats,
    failures,
    said,
    waits,
    retries: told.retries,
    nowMs: told.simulatedMs,
    ...ended,
  }
  return differences(rehearsed, seen)
}
const kindsOf = (found: readonly Difference[]) => found.map(d => d.kind)
const DIALECTS = ['preflash-bus', 'st-an3155', 'xmodem-crc', 'xmodem-1k', 'ymodem'] as const

describe('emulated receivers against the rehearsal', () => {
  it.each(DIALECTS)('%s: a clean run has no mark', dialect => {
    expect(marks({ dialect })).toEqual([])
  })

  it.each(DIALECTS)('%s: a first write that fails is marked where it failed, in words', dialect => {
    const found = marks({ dialect }, { faults: [{ name: 'first-write-fails' }] })
    expect(found.length).toBeGreaterThan(0)
    // These two are called by the receiver itself, which goes on in the same attempt.
    const isSameAttempt = dialect === 'xmodem-crc' || dialect === 'xmodem-1k'
    const told = found.find(d => d.kind === (isSameAttempt ? 'more-retries' : 'failed-attempt'))
    if (isSameAttempt) expect(told?.seen).toMatch(/^\d repeats?/)
    else {
      expect(told).toMatchObject({ severity: 'note', expected: 'it goes through' })
      expect(told?.seen).toMatch(/^attempt 1 failed\. The receiver/)
      expect(kindsOf(found)).toContain('another-order')
    }
    expect(kindsOf(found)).not.toContain('other-end')
  })

  it.each(DIALECTS)('%s: a receiver that says nothing is another end, to be looked at', dialect => {
    const found = marks({ dialect }, { faults: [{ name: 'silent' }] })
    expect(found.find(d => d.kind === 'other-end')).toMatchObject({
      severity: 'look',
      expected: 'it goes through',
    })
    expect(kindsOf(found)).toContain('failed-attempt')
  })

  it.each(DIALECTS)('%s: an adapter that holds answers back is marked as that, and as slower', dialect => {
    const found = marks({ dialect }, { latencyMs: 40 })
    const later = found.find(d => d.kind === 'later-answers')
    if (dialect === 'st-an3155' || dialect === 'preflash-bus')
      expect(later).toMatchObject({ severity: 'note', seen: expect.stringMatching(/^after \d/) })
    expect(found.some(d => d.kind === 'slower' || d.kind === 'other-rate')).toBe(true)
    expect(found.find(d => d.step === 'write' && d.kind !== 'later-answers')?.seen).toMatch(/octets a second/)
  })

  it('another type says otherwise of itself, and that is to be looked at', () => {
    const found = marks({}, { faults: [{ name: 'other-receiver' }] })
    const said = found.filter(d => d.kind === 'said-otherwise')
    expect(said[0]).toMatchObject({ severity: 'look', expected: expect.stringMatching(/^Type /) })
  })

  it('another firmware before, other pages and other octets a write are told one by one', () => {
    const { bench } = writePlan()
    const older = { ...bench, receivers: bench.receivers.map(r => ({ ...r, firmware: '1.9.9' })) }
    const found = marks({}, {}, { bench: older })
    expect(found).toContainEqual({
      ...{ kind: 'said-otherwise', severity: 'look', step: 'identify', atMs: expect.any(Number) },
      ...{ expected: 'Firmware 2.1.0', seen: 'Firmware 1.9.9' },
    })
  })

  it('a block that is turned down or lost is marked with how often and why', () => {
    const found = marks({ dialect: 'st-an3155' }, { faults: [{ name: 'cut-at-block', value: '10' }] })
    expect(kindsOf(found)).toContain('failed-attempt')
    expect(found.map(d => d.atMs)).toEqual([...found.map(d => d.atMs)].sort((a, b) => a - b))
  })
})

describe('what a step did', () => {
  const seen = (done: number, pieces: number, answerMs: number | null = null) => ({ done, pieces, answerMs })
  const expected = { ...rehearsed.steps[1], seen: seen(4000, 40, 2) }
  const real = (endMs: number, of: ReturnType<typeof seen>) => ({ ...step('write', 1000, endMs), seen: of })

  it('has the rate in the words of its time', () => {
    expect(differsInTime(expected, real(11_000, seen(4000, 40)), 11_000)).toMatchObject({
      ...{ kind: 'slower', severity: 'note' },
      ...{ expected: '4.0 s, 1000 octets a second', seen: '10.0 s, 400 octets a second' },
    })
    expect(differsInTime(expected, real(26_000, seen(4000, 40)), 26_000)?.severity).toBe('look')
  })

  it('is marked where amount, blocks, rate or answers are others', () => {
    const found = (endMs: number, of: ReturnType<typeof seen>) =>
      differsInAmount(expected, real(endMs, of), false)
    expect(found(5000, seen(4000, 40, 2.5))).toEqual([])
    expect(kindsOf(found(6500, seen(4000, 40)))).toEqual(['other-rate'])
    expect(found(5000, seen(3900, 40))).toMatchObject([{ kind: 'other-amount', severity: 'look' }])
    expect(found(5000, seen(4000, 31))).toMatchObject([
      { kind: 'other-blocks', expected: '40 blocks', seen: '31 blocks', atMs: 5000 },
    ])
    expect(found(5000, seen(4000, 40, 19))).toMatchObject([
      { kind: 'later-answers', expected: 'after 2.0 ms', seen: 'after 19.0 ms' },
    ])
    const backup = { ...expected, step: 'backup' as const }
    const read = { ...real(5000, seen(2048, 40)), step: 'backup' as const }
    expect(differsInAmount(backup, read, false)).toContainEqual(
      expect.objectContaining({ kind: 'other-amount', expected: '4000 octets', seen: '2048 octets' }),
    )
  })
})

describe('what a receiver says', () => {
  const said = (name: string, value: string, change: Partial<Said> = {}): Said => ({
    ...{ when: 'before', name, label: name, value, role: 'other', isSure: true },
    ...change,
  })

  it('differs by what matters: type and version to be looked at, the rest to be noted, examples expected', () => {
    const wanted = [
      said('chip', '410', { role: 'type' }),
      said('loader', '31'),
      said('id', '7', { isSure: false }),
    ]
    expect(differsInWord(wanted, wanted)).toEqual([])
    expect(differsInWord(wanted, [])).toEqual([])
    const real = [said('chip', '0x412', { role: 'type' }), said('loader', '22')]
    expect(differsInWord(wanted, real)).toEqual([
      { when: 'before', expected: 'chip 410', seen: 'chip 0x412', severity: 'look' },
      { when: 'before', expected: 'loader 31', seen: 'loader 22', severity: 'note' },
      { when: 'before', expected: 'id 7, which is an example only', seen: 'no id', severity: 'expected' },
    ])
  })

  it('is the same version where its numbers can say no more', () => {
    const version = (value: string) => [said('version', value, { role: 'version', when: 'after' })]
    expect(differsInWord(version('2.4.0-rc1'), version('2.4.0'))).toEqual([])
    expect(differsInWord(version('2.4.0'), version('2.3.0'))).toMatchObject([{ severity: 'look' }])
  })
})

describe('what did not go through', () => {
  it('is counted by what was said again, with its last reason; three of one are to be looked at', () => {
    const watched = new Watched({ step: 'open', atMs: 0 })
    watched.tell({ kind: 'phase', phase: 'write', attempt: 1 }, 1000)
    for (let i = 0; i < 3; i++)
      watched.tell(
        { kind: 'retry', what: 'Block', tries: i + 2, text: `"Block" was turned down ${i}.` },
        2000 + i,
      )
    const { steps, repeats } = watched
    expect(repeatsOf(repeats)).toEqual([{ step: 'write', attempt: 1, what: 'Block', times: 3 }])
    const found = differences(rehearsed, { steps, repeats, retries: 3, nowMs: 2500 })
    expect(found.filter(d => d.kind === 'more-retries')).toEqual([
      {
        ...{ atMs: 2000, step: 'write', kind: 'more-retries', severity: 'look' },
        ...{ expected: 'no repeat', seen: '3 repeats. "Block" was turned down 0' },
      },
    ])
    const used = { ...rehearsed, repeats: repeatsOf(repeats) }
    expect(kindsOf(differences(used, { steps, repeats, retries: 0, nowMs: 2500 }))).not.toContain(
      'more-retries',
    )
  })

  it('waiting is counted at the end, and no reason to worry', () => {
    const found = differences(rehearsed, {
      steps: asRehearsed,
      retries: 0,
      nowMs: 7000,
      waits: 2,
      endedWell: true,
    })
    expect(found).toMatchObject([
      { kind: 'asked-to-wait', severity: 'expected', expected: 'never', seen: '2 times' },
    ])
  })
})
