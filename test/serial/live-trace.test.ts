import { describe, expect, it } from 'vitest'
import { LiveTrace } from '../../main/serial/live-trace.ts'
import { packedTraceSchema, packTrace, unpackTrace } from '../../shared/sim/pack.ts'
import { LaneDecoder } from '../../shared/wire/decode-lane.ts'
import { encodeFrame } from '../../shared/wire/hdlc.ts'
import { LaneIndex } from '../../shared/wire/lane-index.ts'
import { waveformIn } from '../../shared/wire/waveform.ts'

const settings = { baud: 115_200, parity: 'none', stopBits: 1 } as const
const trace = () => new LiveTrace({ label: 'Left adapter', settings, latencyMs: 16, startedAtMs: 1000 })
const frame = (...body: number[]) => {
  const out = new Uint8Array(80)
  return out.slice(0, encodeFrame(Uint8Array.from(body), body.length, out, 0))
}

describe('a live trace', () => {
  it('is drawn like a rehearsal: bursts, frames with words, a waveform', () => {
    const live = trace()
    const [asked, said] = [frame(0x10, 0x01, 1, 2, 3), frame(0x10, 0x81, 4, 5)]
    live.sent(asked, 1010)
    // The adapter hands the answer over in two pieces.
    live.heard(said.subarray(0, 3), 1020)
    live.heard(said.subarray(3), 1036)
    const { lanes, endNs } = live.snapshot(1050)
    expect(endNs).toBe(50e6)
    expect(lanes).toHaveLength(1)
    const [lane] = lanes
    expect(lane).toMatchObject({ id: 'port', label: 'Left adapter, 115200 8N1', bitsPerCharacter: 10 })
    const index = new LaneIndex(lane)
    const frames = new LaneDecoder(index).framesIn(0, endNs)
    expect(frames.map(f => [f.talkerName, [...f.octets], f.fate])).toEqual([
      ['bench', [...asked], 'arrived'],
      ['device', [...said], 'arrived'],
    ])
    expect(waveformIn(index, 0, endNs).edgesNs.length).toBeGreaterThan(20)
  })

  it('does not call another protocol broken frames', () => {
    const live = trace()
    live.sent(Uint8Array.of(0x7f), 1001)
    live.heard(Uint8Array.of(0x79), 1002)
    const [lane] = live.snapshot(1003).lanes
    const frames = new LaneDecoder(new LaneIndex(lane)).framesIn(0, 3e6)
    expect(frames.map(f => [f.title, f.detail, f.fate])).toEqual([
      ['Octets', '1 octet', 'arrived'],
      ['Octets', '1 octet', 'arrived'],
    ])
  })

  it('begins a new lane where the line is set otherwise, and leaves out one on which nothing was said', () => {
    const live = trace()
    live.settings({ baud: 57_600, parity: 'odd', stopBits: 2 })
    live.sent(Uint8Array.of(1), 1001)
    live.settings({ baud: 57_600, parity: 'odd', stopBits: 2 })
    live.settings(settings)
    live.sent(Uint8Array.of(2), 1010)
    const { lanes } = live.snapshot(1020)
    expect(lanes.map(({ label, bitsPerCharacter, parity }) => [label, bitsPerCharacter, parity])).toEqual([
      ['Left adapter, 57600 8O2', 12, 'odd'],
      ['Left adapter, 115200 8N1', 10, 'none'],
    ])
  })

  it('marks what collided, keeps events and phases, and crosses the contract whole', () => {
    const live = trace()
    live.event({ kind: 'phase', phase: 'write', attempt: 1 }, 1001)
    live.sent(frame(1, 2, 3), 1002)
    live.collided()
    live.event({ kind: 'progress', done: 1, total: 2 }, 1003)
    live.done(1020, 'broken-off')
    const whole = live.snapshot(9000)
    expect(whole.endNs).toBe(20e6)
    expect(whole.phases).toEqual([
      { id: 'write', attempt: 1, startNs: 1e6, endNs: 20e6, ended: 'broken-off' },
    ])
    expect(new LaneDecoder(new LaneIndex(whole.lanes[0])).frame(0).fate).toBe('collided')
    expect(unpackTrace(packedTraceSchema.parse(packTrace(whole)))).toEqual(whole)
  })

  it('does not grow without bound on a line that babbles', () => {
    const live = trace()
    for (let i = 0; i < 40; i++) live.heard(new Uint8Array(1024 * 1024), 2000 + i)
    expect(live.snapshot(9000).lanes[0].octets.length).toBe(16 * 1024 * 1024)
  })
})
