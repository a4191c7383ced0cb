import { describe, expect, it } from 'vitest'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { needs, titled } from '../support/needs.ts'
import { serialPlan } from '../support/serial-bench.ts'
import { playedReceiver, startAt, testDesk } from '../support/write-desk.ts'
import { writePlan } from '../support/write-plan.ts'

/** What is expected of the wire, and what the wire is: all four ways for the bus and for ST AN3155. */

async function written(plan: WritePlan, expected: boolean, is: boolean) {
  const desk = testDesk()
  const played = await playedReceiver({ plan, echo: is })
  const started = await startAt(desk, played.path, { ...plan, echo: expected })
  const end = await started.ended
  const notes = desk.desk.lanes.report(started.lane)?.notes.map(note => note.text) ?? []
  return { end, notes }
}

const OTHERWISE = /The line does not echo what we say, where a cable with one wire was expected/

describe.skipIf(needs('socat') === undefined)(
  titled('a line with one wire too few or too many', 'socat'),
  () => {
    it.each([
      ['preflash-bus', true, true, 'updated'],
      ['preflash-bus', true, false, 'updated'],
      ['preflash-bus', false, true, 'updated'],
      ['preflash-bus', false, false, 'updated'],
      ['st-an3155', true, true, 'unproven'],
      ['st-an3155', true, false, 'unproven'],
      ['st-an3155', false, true, 'failed'],
      ['st-an3155', false, false, 'unproven'],
    ] as const)(
      '%s, echo expected %s, and there %s: %s',
      { timeout: 120_000 },
      async (dialect, expected, is, outcome) => {
        const plan = dialect === 'preflash-bus' ? writePlan() : serialPlan(dialect)
        const { end, notes } = await written(plan, expected, is)
        expect(end.outcome).toBe(outcome)
        expect(notes.some(text => OTHERWISE.test(text))).toBe(expected && !is)
        // To the chip's loader its own request is a wrong answer.
        if (outcome === 'failed') expect(end.text).toMatch(/The line echoes what we say.*--echo yes/)
      },
    )

    it('says that not even its own words came back, or that they did and nobody answers', {
      timeout: 120_000,
    }, async () => {
      const desk = testDesk()
      const plan = writePlan({ echo: true })
      for (const [echo, words] of [
        [false, /Not even what we say came back/],
        [true, /What we say came back, so the port and its end of the wire are sound/],
      ] as const) {
        const played = await playedReceiver({ plan, echo, faults: [{ name: 'receiver-dead' }] })
        const end = await (await startAt(desk, played.path, plan)).ended
        expect([end.outcome, end.code, end.state]).toEqual(['failed', 'no-answer', 'as-before'])
        expect(end.text).toMatch(words)
      }
    })
  },
)
