import { createHash } from 'node:crypto'
import { describe, expect, it } from 'vitest'
import { LiveTrace } from '../../main/serial/live-trace.ts'
import { encodeEnvelope } from '../../shared/api/envelope.ts'
import { dice } from '../../shared/sim/dice.ts'
import { packedTraceSchema, packTrace } from '../../shared/sim/pack.ts'
import type { Trace } from '../../shared/sim/trace.ts'
import {
  MOST_PIECE_BURSTS,
  MOST_PIECE_OCTETS,
  type TraceCursor,
  tracePieceSchema,
} from '../../shared/sim/trace-piece.ts'
import { TraceSoFar, withStandingPhase } from '../../shared/sim/trace-so-far.ts'

const settings = { baud: 115_200, parity: 'none', stopBits: 1 } as const
const line = () => new LiveTrace({ label: 'Left adapter', settings, latencyMs: 0, startedAtMs: 0 })

/** Fetches until there is no more, as the window does. @returns octets of each message */
function fetch(live: LiveTrace, soFar: TraceSoFar, atMs: number, of = 'a'): number[] {
  const sizes: number[] = []
  for (let more = true; more; ) {
    const piece = tracePieceSchema.parse(live.piece(of, soFar.cursor, atMs))
    sizes.push(encodeEnvelope({ id: 1, ok: true, reply: { piece } }).length)
    more = !soFar.add(piece) || piece.more
  }
  return sizes
}

/** All that is in a trace; to compare millions of octets one by one takes minutes. */
const digest = (trace: Trace): string =>
  createHash('sha256')
    .update(encodeEnvelope({ id: 1, ok: true, reply: packedTraceSchema.parse(packTrace(trace)) }))
    .digest('hex')

/** A session of a writer and a device that answer each other, at random, a moment at a time. */
function* session(live: LiveTrace, seed: number): Generator<number> {
  const draw = dice(seed, 'trace')
  const octets = (most: number) => new Uint8Array(Math.ceil(draw.between(1, most))).fill(draw.between(0, 255))
  for (let atMs = 1; ; atMs += draw.between(0.1, 30)) {
    const what = draw.between(0, 10)
    if (what < 4) live.sent(octets(300), atMs)
    else if (what < 7) live.heard(octets(40), atMs)
    else if (what < 7.5) live.collided()
    else if (what < 8) live.event({ kind: 'phase', phase: 'write', attempt: 1 }, atMs)
    else if (what < 9) live.event({ kind: 'progress', done: atMs, total: 1e6 }, atMs)
    else if (what < 9.8) live.event({ kind: 'note', level: 'info', text: `at ${atMs}` }, atMs)
    else live.settings({ ...settings, baud: draw.between(0, 2) < 1 ? 57_600 : 115_200 })
    yield atMs
  }
}

describe('a trace in pieces', () => {
  it.each([1, 2, 3, 4, 5, 6, 7, 8])('is the whole, however it is cut: seed %i', seed => {
    const live = line()
    const soFar = new TraceSoFar()
    const rare = dice(seed, 'asks')
    let asked = 0
    let step = 0
    for (const atMs of session(live, seed)) {
      if (++step === 3000) break
      if (rare.between(0, 40) >= 1) continue
      fetch(live, soFar, atMs)
      expect(digest(soFar.whole())).toBe(digest(live.snapshot(atMs)))
      asked++
    }
    live.done(2e6, 'done')
    fetch(live, soFar, 3e6)
    expect(digest(soFar.whole())).toBe(digest(live.snapshot(3e6)))
    expect(soFar.whole().lanes.length).toBeGreaterThan(3)
    expect(asked).toBeGreaterThan(30)
  })

  it('is bounded, also where one burst is longer than a piece, or bursts are many', () => {
    const live = line()
    live.heard(new Uint8Array(300_000).fill(7), 40_000)
    for (let i = 0; i < 10_000; i++) live.sent(Uint8Array.of(i & 0xff), 41_000 + i)
    const soFar = new TraceSoFar()
    const sizes = fetch(live, soFar, 60_000)
    expect(digest(soFar.whole())).toBe(digest(live.snapshot(60_000)))
    expect(sizes.length).toBeGreaterThanOrEqual(5 + 2)
    // Beside octets and bursts (14 octets each) there are only names and counts.
    expect(Math.max(...sizes)).toBeLessThan(MOST_PIECE_OCTETS + 14 * MOST_PIECE_BURSTS + 2000)
  })

  it('of a lane of some minutes sends each time only what is new', () => {
    const live = line()
    const soFar = new TraceSoFar()
    const sizes: number[] = []
    // Blocks of 128 octets with an answer, as fast as 115,200 baud allow, for five minutes; asked every 1.5 s.
    let askMs = 1500
    for (let atMs = 0; atMs < 5 * 60_000; atMs += 12) {
      live.sent(new Uint8Array(133).fill(0xa5), atMs)
      live.heard(Uint8Array.of(6), atMs + 11.7)
      live.event({ kind: 'progress', done: atMs, total: 3e5 }, atMs + 11.7)
      if (atMs < askMs) continue
      askMs += 1500
      sizes.push(...fetch(live, soFar, atMs + 12))
    }
    fetch(live, soFar, 5 * 60_000 + 12)
    expect(digest(soFar.whole())).toBe(digest(live.snapshot(5 * 60_000 + 12)))
    expect(soFar.whole().lanes[0].octets.length).toBeGreaterThan(3e6)
    expect(sizes.length).toBe(199)
    expect(Math.max(...sizes)).toBeLessThan(32 * 1024)
  })

  it('is begun anew where the lane is another one, whatever is there of the one before', () => {
    const [first, second] = [line(), line()]
    first.sent(new Uint8Array(100).fill(1), 5)
    second.sent(new Uint8Array(200).fill(2), 5)
    const soFar = new TraceSoFar()
    fetch(first, soFar, 20, 'session-1')
    fetch(second, soFar, 40, 'session-2')
    expect(digest(soFar.whole())).toBe(digest(second.snapshot(40)))
  })

  it('takes a cursor that cannot be for none', () => {
    const live = line()
    live.sent(Uint8Array.of(1, 2, 3), 5)
    const none: TraceCursor = { of: 'a', lane: 0, bursts: 0, octets: 0, progress: 0, phases: 0, events: 0 }
    const whole = live.piece('a', null, 20)
    for (const wrong of [
      { lane: 7 },
      { bursts: 9 },
      { octets: 9 },
      { progress: 1 },
      { phases: 1 },
      { events: 1 },
    ])
      expect(live.piece('a', { ...none, ...wrong }, 20)).toEqual(whole)
    expect(live.piece('a', none, 20)).toEqual({ ...whole, anew: false })
  })

  it('forgets all where a piece does not go on from what is there', () => {
    const live = line()
    live.sent(new Uint8Array(100).fill(1), 5)
    const soFar = new TraceSoFar()
    fetch(live, soFar, 20)
    const missed = soFar.cursor
    live.sent(new Uint8Array(50).fill(2), 25)
    const between = live.piece('a', missed, 40)
    live.sent(new Uint8Array(50).fill(3), 45)
    const late = live.piece('a', between.next, 60)
    expect(soFar.add(late)).toBe(false)
    expect(soFar.cursor).toBeNull()
    fetch(live, soFar, 80)
    expect(digest(soFar.whole())).toBe(digest(live.snapshot(80)))
  })
})

describe('withStandingPhase()', () => {
  const phases = (live: LiveTrace, atMs: number) =>
    withStandingPhase(live.snapshot(atMs)).phases.map(({ id, startNs, endNs, ended }) => [
      ...[id, startNs / 1e6, endNs / 1e6, ended],
    ])

  it('draws the phase that lasts as far as it has come, and no more once it is over', () => {
    const live = line()
    expect(phases(live, 1)).toEqual([])
    live.event({ kind: 'phase', phase: 'erase', attempt: 1 }, 2)
    live.event({ kind: 'phase', phase: 'write', attempt: 1 }, 5)
    expect(phases(live, 9)).toEqual([
      ['erase', 2, 5, 'done'],
      ['write', 5, 9, 'done'],
    ])
    live.event({ kind: 'attempt-failed', attempt: 1, code: 'lost-contact', text: 'Gone.' }, 10)
    expect(phases(live, 12)).toEqual([
      ['erase', 2, 5, 'done'],
      ['write', 5, 10, 'failed'],
    ])
    live.event({ kind: 'phase', phase: 'write', attempt: 2 }, 14)
    live.done(20, 'done')
    expect(phases(live, 30).at(-1)).toEqual(['write', 14, 20, 'done'])
  })
})
