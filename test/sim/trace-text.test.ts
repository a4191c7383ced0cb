import { describe, expect, it } from 'vitest'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import type { RehearsalRequest } from '../../shared/rehearse/report.ts'
import { BURST, FLASH_OP, LaneRecorder, type Trace, TraceRecorder } from '../../shared/sim/trace.ts'
import { traceText } from '../../shared/sim/trace-text.ts'
import { smallRequest } from '../support/small-bench.ts'

/** Lines as a reader of JSON values in lines would take them: RFC 8259 for each, a line feed after each. */
function linesOf(text: string): Record<string, unknown>[] {
  expect(text.endsWith('\n')).toBe(true)
  return text
    .slice(0, -1)
    .split('\n')
    .map(line => JSON.parse(line))
}
function traced(change: Partial<RehearsalRequest> = {}): Trace {
  const done = rehearse(smallRequest(change))
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value.trace
}
const keep = (lines: ReturnType<typeof linesOf>, field: string) => lines.filter(line => field in line)

describe('a trace written by hand, as text', () => {
  const recorder = new TraceRecorder()
  const lane = new LaneRecorder('bus', 'Telemetry "bus"\n', 115_200, 11, 'even')
  lane.talkers.push('radio', 'receiver')
  recorder.lanes.push(lane)
  const say = (atNs: number, talker: number, octets: readonly number[], flags: number) => {
    const first = lane.reserve(octets.length)
    lane.octets.set(octets, first)
    lane.flags.set(lane.burst(atNs, talker, first, octets.length), flags)
  }
  say(0, 0, [0x7e, 0x00, 0x0f, 0xf0, 0xff, 0x7e], 0)
  say(1000, 1, [], 0)
  say(2000, 1, [0xa5], BURST.noisy | BURST.lost)
  lane.heard.push({ atNs: 2500, octets: Uint8Array.of(0x25, 0x0a), framingErrors: 2 })
  recorder.flashOp(FLASH_OP.erase, 1024, 1024, 10, 30, false)
  recorder.flashOp(FLASH_OP.bootProgram, 2, 4, 40, 45, true)
  recorder.supply(5, 4.75, 120)
  recorder.event(7, { kind: 'note', level: 'caution', text: 'first\nsecond \u2028 "third"' })
  recorder.device(9, 'receiver', 'off', false)
  const text = traceText(recorder.done(3000))

  it('says all of it, and nothing else', () =>
    expect(linesOf(text)).toEqual([
      { preflashTrace: 1, simulated: true, endNs: 3000 },
      {
        ...{ lane: 'bus', label: 'Telemetry "bus"\n', baud: 115_200, bitsPerCharacter: 11, parity: 'even' },
        talkers: ['radio', 'receiver'],
      },
      { lane: 'bus', atNs: 0, by: 0, octets: '7e000ff0ff7e' },
      { lane: 'bus', atNs: 1000, by: 1, octets: '' },
      { lane: 'bus', atNs: 2000, by: 1, flags: BURST.noisy | BURST.lost, octets: 'a5' },
      { lane: 'bus', heardAtNs: 2500, framingErrors: 2, octets: '250a' },
      { flash: 'erase', atNs: 10, endNs: 30, offset: 1024, bytes: 1024 },
      { flash: 'bootProgram', atNs: 40, endNs: 45, offset: 2, bytes: 4, torn: true },
      { supply: 4.75, milliamps: 120, atNs: 5 },
      { atNs: 7, event: { kind: 'note', level: 'caution', text: 'first\nsecond \u2028 "third"' } },
      { atNs: 9, device: 'receiver', state: 'off', alive: false },
    ]))

  it('of a session in which nothing happened is its first line', () =>
    expect(traceText(new TraceRecorder().done(0))).toBe('{"preflashTrace":1,"simulated":true,"endNs":0}\n'))
})

describe('a rehearsed session as text', () => {
  for (const route of ['cable', 'wireless'] as const)
    it(`by ${route}: every burst with the octets that were on the lane, in their order`, () => {
      const trace = traced({ route })
      const lines = linesOf(traceText(trace))
      for (const lane of trace.lanes) {
        const bursts = keep(lines, 'by').filter(line => line.lane === lane.id)
        expect(bursts.length).toBeGreaterThan(100)
        expect(bursts).toHaveLength(lane.burstCount)
        bursts.forEach((line, i) => {
          const from = lane.firstOctet[i]
          const octets = lane.octets.subarray(from, from + lane.octetCount[i])
          expect(Buffer.from(String(line.octets), 'hex')).toEqual(Buffer.from(octets))
          expect([line.atNs, line.by]).toEqual([lane.startNs[i], lane.talker[i]])
        })
      }
      expect(keep(lines, 'flash')).toHaveLength(trace.flash.count)
      expect(keep(lines, 'event').map(line => line.event)).toEqual(trace.events.map(({ event }) => event))
      expect(keep(lines, 'alive')).toEqual(trace.devices)
      expect(Math.max(...lines.map(line => Number(line.atNs ?? 0)))).toBeLessThanOrEqual(trace.endNs)
    })

  it('on a noisy line tells what was heard otherwise than it was said', () => {
    const trace = traced({ faults: [{ name: 'line-noise', value: '0.0003' }] })
    const lines = linesOf(traceText(trace))
    const [lane] = trace.lanes
    expect(lane.heard.length).toBeGreaterThan(5)
    expect(keep(lines, 'heardAtNs').map(line => line.octets)).toEqual(
      lane.heard.map(heard => Buffer.from(heard.octets).toString('hex')),
    )
    expect(keep(lines, 'flags').length).toBeGreaterThan(5)
  })

  it('tells of the operation that power tore', () => {
    const done = rehearse(smallRequest(), { cut: { at: 'flash-op', index: 5, when: 'during' } })
    if (!done.ok) throw new Error(done.problems[0].message)
    expect(keep(linesOf(traceText(done.value.trace)), 'torn')).toMatchObject([{ torn: true }])
  })

  it('is the same, octet for octet, for the same session, and another for another seed', () => {
    const noise = { faults: [{ name: 'line-noise', value: '0.0003' } as const] }
    expect(traceText(traced(noise))).toBe(traceText(traced(noise)))
    expect(traceText(traced({ ...noise, seed: 2 }))).not.toBe(traceText(traced(noise)))
  })
})
