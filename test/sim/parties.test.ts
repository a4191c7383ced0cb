import { describe, expect, it } from 'vitest'
import { ADDRESS, body, KIND, REPLY_BIT } from '../../shared/procedure/bus.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { Poller, Sensor } from '../../shared/sim/parties.ts'
import { BURST } from '../../shared/sim/trace.ts'
import { decodeFrame } from '../../shared/wire/hdlc.ts'
import { lineRig } from '../support/line-rig.ts'

const SLOT_MS = 12

/** A radio that polls the receiver's address and two sensors, one of which may be chatty. */
function bus(options: { talksForMs?: number; replyOctets?: number } = {}) {
  const rig = lineRig()
  const { kernel, line } = rig
  const radio = rig.ear('radio', 'radio')
  const talksForNs = options.talksForMs === undefined ? {} : { talksForNs: msToNs(options.talksForMs) }
  const sensors = [0x21, 0x24].map(
    (address, i) =>
      new Sensor(kernel, line, {
        name: `sensor ${i}`,
        address,
        replyOctets: options.replyOctets ?? 8,
        ...(i === 0 ? talksForNs : {}),
      }),
  )
  const poller = new Poller(kernel, line, radio.party, [ADDRESS.receiver, 0x21, 0x24], msToNs(SLOT_MS))
  for (const sensor of sensors) sensor.power(true)
  const frames = () =>
    radio.got.flatMap(({ atNs, octets }) => {
      const frame = decodeFrame(Uint8Array.from(octets))
      return frame.ok ? [{ atNs, address: frame.body[0], kind: frame.body[1], body: frame.body }] : []
    })
  const between = (fromMs: number, toMs: number) =>
    frames().filter(f => f.atNs >= msToNs(fromMs) && f.atNs < msToNs(toMs))
  const tell = (kind: number, atMs: number) =>
    rig.later.at(msToNs(atMs), () => line.sendFrame(radio.party, body(ADDRESS.all, kind, [120])))
  return { ...rig, radio, sensors, poller, frames, between, tell }
}

describe('the telemetry cycle', () => {
  it('polls one address a slot, in turn, and each sensor answers its own poll', () => {
    const { kernel, line, poller, frames } = bus()
    poller.start()
    poller.start()
    kernel.runTo(msToNs(SLOT_MS * 30) - 1)
    const lane = line.recorder.done()
    const polls = [...lane.talker].flatMap((t, i) => (t === 0 ? [lane.startNs[i]] : []))
    expect(polls).toEqual(Array.from({ length: 30 }, (_, i) => msToNs(SLOT_MS * i)))
    // Nobody answers for the receiver here; the two sensors answer every third slot each.
    expect(frames().map(f => f.address)).toEqual(Array.from({ length: 10 }, () => [0x21, 0x24]).flat())
    expect(new Set(frames().map(f => f.kind))).toEqual(new Set([KIND.poll | REPLY_BIT]))
    expect([...lane.flags].every(f => f === 0)).toBe(true)
    expect(new Set(frames().map(f => f.body.join())).size).toBe(20)
  })

  it('stops when the line is given away, and can begin again', () => {
    const { kernel, line, poller } = bus()
    poller.start()
    kernel.runTo(msToNs(100))
    poller.stop()
    const { burstCount } = line.recorder.done()
    kernel.runTo(msToNs(500))
    expect(line.recorder.done().burstCount).toBe(burstCount)
    poller.start()
    kernel.runTo(msToNs(600))
    expect(line.recorder.done().burstCount).toBeGreaterThan(burstCount + 5)
  })
})

describe('a sensor', () => {
  it('is quiet when everybody is told to be, until it may talk again', () => {
    const { kernel, poller, between, tell } = bus()
    poller.start()
    tell(KIND.quiet, 101)
    tell(KIND.resume, 401)
    kernel.runTo(msToNs(700))
    expect(between(0, 100).length).toBeGreaterThan(3)
    expect(between(106, 400)).toEqual([])
    expect(between(410, 700).length).toBeGreaterThan(10)
  })

  it('that is chatty talks unasked, goes on for its time after it was told to be quiet, then obeys', () => {
    const { kernel, between, tell } = bus({ talksForMs: 200 })
    tell(KIND.quiet, 101.3)
    kernel.runTo(msToNs(1000))
    expect(between(0, 100).map(f => f.address)).toEqual(Array.from({ length: 24 }, () => 0x21))
    expect(between(110, 300).length).toBeGreaterThan(40)
    expect(between(310, 1000)).toEqual([])
  })

  it('that is chatty talks over what others say', () => {
    const { kernel, line, poller } = bus({ talksForMs: 5000 })
    poller.start()
    kernel.runTo(msToNs(1000))
    const lane = line.recorder.done()
    const collided = [...lane.flags].filter(f => f & BURST.collided).length
    expect(collided).toBeGreaterThan(10)
  })

  it('has one transmitter: it never overlaps itself, however long its frames are', () => {
    const { kernel, line, poller } = bus({ talksForMs: 5000, replyOctets: 64 })
    poller.start()
    kernel.runTo(msToNs(500))
    const lane = line.recorder.done()
    for (const talker of new Set(lane.talker)) {
      let untilNs = 0
      for (let i = 0; i < lane.burstCount; i++) {
        if (lane.talker[i] !== talker) continue
        expect(lane.startNs[i]).toBeGreaterThanOrEqual(untilNs)
        untilNs = lane.startNs[i] + line.durationNs(lane.octetCount[i])
      }
    }
  })

  it('says nothing without power, and breaks off in the middle of what it says', () => {
    const { kernel, line, sensors, poller, frames, later } = bus()
    poller.start()
    // Its answer to the poll of the second slot starts after turn-around and is cut short.
    later.at(msToNs(SLOT_MS + 1.2), () => sensors[0].power(false))
    kernel.runTo(msToNs(SLOT_MS * 9))
    expect(frames().map(f => f.address)).toEqual([0x24, 0x24, 0x24])
    const lane = line.recorder.done()
    expect([...lane.flags].filter(f => f === BURST.lost)).toHaveLength(1)
  })
})
