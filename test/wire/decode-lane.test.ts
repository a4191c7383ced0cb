import { describe, expect, it } from 'vitest'
import { LaneDecoder } from '../../shared/wire/decode-lane.ts'
import { decodeFrame } from '../../shared/wire/hdlc.ts'
import { LaneIndex } from '../../shared/wire/lane-index.ts'
import { fixtureTrace } from '../support/rehearsal-fixture.ts'

const trace = fixtureTrace({ imageBytes: 4096 })
const decoder = new LaneDecoder(new LaneIndex(trace.lanes[0]))

describe('frames of a lane', () => {
  it('have the words of what was sent', () => {
    const titles = decoder.framesIn(0, trace.endNs, 10_000).map(frame => frame.title)
    expect(titles[0]).toBe('Poll, to sensor 21')
    expect(titles[1]).toBe('Telemetry from sensor 21')
    expect(titles).toContain('Be quiet, to everybody')
    expect(titles.filter(title => title === 'Write, to receiver')).toHaveLength(Math.ceil(4096 / 56) + 1)
  })

  it('carry exactly the octets between their start and end', () => {
    for (const frame of decoder.framesIn(0, trace.endNs, 10_000)) {
      expect(frame.endNs - frame.startNs).toBeCloseTo((frame.octets.length * 10e9) / 115_200, 3)
      if (frame.body !== undefined)
        expect(decodeFrame(frame.octets)).toMatchObject({ ok: true, body: frame.body })
    }
  })

  it('say what spoilt them and what was heard instead', () => {
    const frames = decoder.framesIn(0, trace.endNs, 10_000)
    const collided = frames.filter(frame => frame.fate === 'collided')
    expect(collided).toHaveLength(2)
    expect(collided[1].heard?.framingErrors).toBe(2)
    const noisy = frames.filter(frame => frame.fate === 'noisy')
    expect(noisy).toHaveLength(1)
    expect(noisy[0].heard?.octets).toEqual(Uint8Array.of(0x7e, 0x10, 0x14))
    expect(frames.filter(frame => frame.fate === 'arrived')).toHaveLength(frames.length - 3)
  })

  it('are found in any window, and no more than asked for', () => {
    const all = decoder.framesIn(0, trace.endNs, 10_000)
    const [a, b] = [all[10], all[20]]
    const some = decoder.framesIn(a.startNs, b.endNs)
    expect(some.map(frame => frame.rank)).toEqual(Array.from({ length: 11 }, (_, i) => 10 + i))
    expect(decoder.framesIn(0, trace.endNs, 3)).toHaveLength(3)
    expect(() => decoder.frame(all.length)).toThrow(RangeError)
  })
})
