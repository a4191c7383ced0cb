import { afterEach, describe, expect, it } from 'vitest'
import { LiveTrace } from '../../main/serial/live-trace.ts'
import { openPort } from '../../main/serial/open-port.ts'
import type { OpenPort } from '../../main/serial/port.ts'
import { type PortRunOptions, runOnPort } from '../../main/serial/runner.ts'
import { bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { ADDRESS, KIND } from '../../shared/procedure/bus.ts'
import type { SessionEvent } from '../../shared/procedure/effects.ts'
import { updateReceiver } from '../../shared/procedure/update.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { memoryOf, planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { blankMemory, startable } from '../../shared/sim/memory.ts'
import { encodeFrame, FrameDecoder, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { chipOnTable, hexOf, octetsOf, stType } from '../support/boot-rom-rig.ts'
import { needs, titled } from '../support/needs.ts'
import { peerAt } from '../support/peers.ts'
import { ptyPair } from '../support/pty.ts'
import { receiverRig } from '../support/receiver-rig.ts'
import { smallBench } from '../support/small-bench.ts'

/** The procedures that are rehearsed, over a real pair of ports, against the simulated devices. */

const bench = smallBench()
const type = bench.catalogue.receiverTypes[0]
const made = benchImage(bench, type, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const staging = stagingOf(made.value, 'F')

const files: PortRunOptions['store'] = request => {
  const file = 'path' in request ? staging.files.find(f => f.path === request.path) : undefined
  if (file === undefined) return { got: 'failed', why: 'not-found' }
  if (request.op === 'size') return { got: 'number', value: file.octets.length }
  if (request.op !== 'read') return { got: 'failed', why: 'read-only' }
  return { got: 'octets', octets: file.octets.slice(request.offset, request.offset + request.bytes) }
}

/** The simulated receiver of the bench, which lives on for as long as each question takes it. */
function receiver() {
  const memory = memoryOf(bench, type, bench.receivers[0])
  const rig = receiverRig(bench, bench.receivers[0].id, memory)
  rig.wait(1500)
  const decoder = new FrameDecoder(80)
  const answer = (octets: Uint8Array): Uint8Array => {
    const said: number[] = []
    decoder.push(octets, 0, octets.length, (frame, length) => {
      const body = frame.slice(0, length)
      const reply = rig.ask(body, body[1] === KIND.poll ? 50 : 400)
      if (body[1] === KIND.restart) rig.wait(1500)
      if (reply === undefined || body[0] !== ADDRESS.receiver) return
      const out = new Uint8Array(maxEncodedLength(80))
      said.push(...out.subarray(0, encodeFrame(reply, reply.length, out, 0)))
    })
    return Uint8Array.from(said)
  }
  return { memory, answer }
}

describe.skipIf(needs('socat') === undefined)(titled('over a pair of ports', 'socat'), () => {
  const ends: (() => Promise<void>)[] = []
  afterEach(async () => {
    for (const end of ends.splice(0).reverse()) await end()
  })
  async function table(answer: (octets: Uint8Array) => Uint8Array, echo = false) {
    const pair = await ptyPair()
    const peer = await peerAt(pair.b, octets => {
      const said = answer(octets)
      return echo ? Uint8Array.of(...octets, ...said) : said
    })
    const port = await openPort(
      { kind: 'local', path: pair.a },
      { baud: 115_200, parity: 'none', stopBits: 1 },
      { label: 'Left adapter' },
    )
    ends.push(
      () => pair.end(),
      () => peer.close(),
      () => port.close(),
    )
    return { port, pair }
  }
  function options(port: OpenPort, more: Partial<PortRunOptions> = {}) {
    const events: SessionEvent[] = []
    const nowMs = () => performance.now()
    const trace = new LiveTrace({
      label: port.label,
      settings: port.settings,
      latencyMs: port.latencyMs,
      startedAtMs: nowMs(),
    })
    const on: PortRunOptions = {
      ...{ port, echo: false, store: files, trace, nowMs },
      onEvent: event => events.push(event),
      signal: new AbortController().signal,
      ...more,
    }
    return { on, events, trace }
  }

  it.each([false, true])('the update of a receiver runs to its end (echo: %s)', async echo => {
    const { memory, answer } = receiver()
    const { port } = await table(answer, echo)
    const { on, events, trace } = options(port, { echo })
    const plan = { ...planFor(bench, type, 'cable', staging), stage: [] }
    const end = await runOnPort(updateReceiver(plan), on)
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', attempts: 1 } })
    expect(startable(memory)?.version).toEqual({ major: 2, minor: 4, patch: 0 })
    expect(events.filter(e => e.kind === 'phase').map(e => e.phase)).toEqual([
      ...['check', 'quiet', 'enter', 'identify', 'begin', 'erase', 'write', 'verify', 'commit', 'restart'],
    ])
    trace.done(performance.now(), 'done')
    const whole = trace.snapshot(performance.now())
    expect(whole.lanes).toHaveLength(1)
    expect(whole.lanes[0].talkers).toEqual(['bench', 'device'])
    expect(whole.phases.at(-1)).toMatchObject({ id: 'restart', ended: 'done' })
  })

  it('the chip’s own loader is written through, with the port set to even parity', async () => {
    const memory = blankMemory(stType())
    const { say, device } = chipOnTable({ memory })
    const { port } = await table(octets => {
      const said = say(octets)
      return said === '' ? new Uint8Array(0) : octetsOf(said)
    })
    const data = Uint8Array.from({ length: 1000 }, (_, i) => (i * 31) & 0xff)
    const { on, trace } = options(port)
    const end = await runOnPort(
      writeThroughBootRom({
        baud: 57_600,
        address: 0x0800_0000,
        octets: data,
        pages: [0, 1],
        startAt: 0x0800_0000,
        chipId: undefined,
        writeMultiple: 4,
        timing: bootRomTiming(57_600, stType().flash, port.latencyMs),
        connectTries: 3,
        tries: 3,
        attempts: 1,
      }),
      on,
    )
    expect(end).toMatchObject({ ended: 'returned', value: { ended: 'done', started: true, retries: 0 } })
    expect(hexOf(memory.boot.octets.subarray(0, 1000))).toBe(hexOf(data))
    expect(device.startedAt).toBe(0x0800_0000)
    expect(port.settings).toEqual({ baud: 57_600, parity: 'even', stopBits: 1 })
    expect(trace.snapshot(performance.now()).lanes.map(l => l.label)).toEqual(['Left adapter, 57600 8E1'])
  })

  it('a cable that is pulled in the middle ends it, and nothing claims success', async () => {
    const { answer } = receiver()
    const { port, pair } = await table(answer)
    let writes = 0
    const { on } = options(port, {
      before: effect => {
        if (effect.do === 'send' && ++writes === 20) void pair.hangUp()
      },
    })
    const plan = { ...planFor(bench, type, 'cable', staging), stage: [] }
    expect(await runOnPort(updateReceiver(plan), on)).toMatchObject({ ended: 'stopped', why: 'port-lost' })
  })

  it('silence at the other end is told as no answer', async () => {
    const { port } = await table(() => new Uint8Array(0))
    const plan = { ...planFor(bench, type, 'cable', staging), stage: [], attempts: 1 }
    expect(await runOnPort(updateReceiver(plan), options(port).on)).toMatchObject({
      ended: 'returned',
      value: { ended: 'failed', code: 'no-answer' },
    })
  })
})
