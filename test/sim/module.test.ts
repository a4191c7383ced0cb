import { describe, expect, it } from 'vitest'
import { linkEndsOf } from '../../shared/fit/link-ends.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import {
  ADDRESS,
  body,
  identityBody,
  KIND,
  REFUSED,
  REPLY_BIT,
  refusalBody,
  refusalOf,
  ruleOfRefusal,
} from '../../shared/procedure/bus.ts'
import { Air, airTiming } from '../../shared/sim/air.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { Line } from '../../shared/sim/line.ts'
import { RfModule } from '../../shared/sim/module.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { FrameDecoder } from '../../shared/wire/hdlc.ts'
import { smallBench } from '../support/small-bench.ts'

const identity = identityBody(ADDRESS.receiver, {
  inBootLoader: false,
  typeCode: 1,
  firmware: { major: 2, minor: 1, patch: 0 },
  generation: 3,
  pageBytes: 1024,
  programPages: 8,
  writeOctets: 56,
})

/** A module on its wire to the radio, and a receiver on the air that answers as it is told. */
function rig(bench: Bench, answer: (frame: Uint8Array) => Uint8Array | undefined) {
  const situation = situationOf(bench, 'wren-trainer', 'wireless', undefined)!
  const kernel = new Kernel()
  const line = new Line(kernel, {
    id: 'module-port',
    label: 'Port',
    baud: 400_000,
    parity: 'none',
    bitErrorRate: 0,
    dice: dice(1, 'noise'),
  })
  const heard: Uint8Array[] = []
  const decoder = new FrameDecoder(80)
  const radio = line.attach('radio', 'radio', {
    hear: (octets, from, to) =>
      decoder.push(octets, from, to, (frame, length) => heard.push(frame.slice(0, length))),
  })
  const air = new Air(kernel, {
    ends: linkEndsOf(situation)!,
    timing: airTiming('2.4GHz'),
    region: 'lbt',
    interference: { share: 0, dbm: -120 },
    loss: dice(1, 'loss'),
    traffic: dice(1, 'traffic'),
  })
  const module = new RfModule(kernel, new TraceRecorder(), line, air, situation)
  air.connect(module, {
    hearAir: frame => {
      const reply = answer(frame)
      if (reply) air.fromReceiver(reply)
    },
  })
  return {
    air,
    ask(request: Uint8Array, ms: number) {
      heard.length = 0
      line.sendFrame(radio, request)
      kernel.runTo(kernel.nowNs + msToNs(ms))
      return [...heard]
    },
  }
}
const search = body(ADDRESS.module, KIND.search)

describe('the RF module', () => {
  it('finds a receiver that answers, and passes frames on both ways', () => {
    const r = rig(smallBench(), () => identity)
    expect(r.ask(search, 100)).toEqual([body(ADDRESS.module, KIND.search | REPLY_BIT, [ADDRESS.receiver])])
    expect(r.ask(body(ADDRESS.receiver, KIND.identify), 50)).toEqual([identity])
  })

  it('says that nobody is there, after looking for more than a second', () => {
    const r = rig(smallBench(), () => undefined)
    expect(r.ask(search, 1000)).toEqual([])
    expect(r.ask(body(ADDRESS.all, KIND.poll), 500)).toEqual([body(ADDRESS.module, KIND.search | REPLY_BIT)])
    expect(r.air.packets).toBeGreaterThan(50)
  })

  it('asked again while it looks, goes on with the one search: as many packets, one answer', () => {
    const [once, twice] = [rig(smallBench(), () => undefined), rig(smallBench(), () => undefined)]
    once.ask(search, 200)
    twice.ask(search, 100)
    twice.ask(search, 100)
    expect(twice.air.packets).toBe(once.air.packets)
    expect([...once.ask(body(ADDRESS.all, KIND.poll), 2000)]).toHaveLength(1)
    expect([...twice.ask(body(ADDRESS.all, KIND.poll), 2000)]).toHaveLength(1)
    expect(twice.air.packets).toBe(once.air.packets)
  })

  it('asked again right after it has found a receiver, sends no faster than the first time', () => {
    let answers = true
    const r = rig(smallBench(), () => (answers ? identity : undefined))
    r.ask(search, 12)
    const found = r.air.packets
    answers = false
    r.ask(search, 200)
    const again = r.air.packets - found
    const fresh = rig(smallBench(), () => undefined)
    fresh.ask(search, 200)
    expect(again).toBe(fresh.air.packets)
  })

  it('does not look at all where one of its rules is broken, and names it', () => {
    const r = rig(withUnit(smallBench(), 'modules', 'inner-tarn', { generation: 2 }), () => identity)
    const [refusal] = r.ask(search, 100)
    expect([refusal[1], ruleOfRefusal(refusal[3])]).toEqual([REFUSED, 'module-generation'])
    expect(r.air.packets).toBe(0)
  })

  it('hands on what the receiver refuses by', () => {
    const r = rig(smallBench(), () =>
      refusalBody(ADDRESS.receiver, KIND.identify, refusalOf('first-by-cable')),
    )
    const [refusal] = r.ask(search, 100)
    expect([refusal[0], refusal[1], ruleOfRefusal(refusal[3])]).toEqual([
      ADDRESS.module,
      REFUSED,
      'first-by-cable',
    ])
  })
})
