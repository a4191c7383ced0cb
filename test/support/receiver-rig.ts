import { situationOf } from '../../shared/fit/situation.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { ADDRESS } from '../../shared/procedure/bus.ts'
import { dice } from '../../shared/sim/dice.ts'
import { Flasher } from '../../shared/sim/flasher.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { Line } from '../../shared/sim/line.ts'
import type { ReceiverMemory } from '../../shared/sim/memory.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { PowerRail } from '../../shared/sim/power.ts'
import { Receiver } from '../../shared/sim/receiver.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { FrameDecoder } from '../../shared/wire/hdlc.ts'
import { feedOf } from '../../shared/wiring/feed.ts'

export interface ReceiverRig {
  readonly kernel: Kernel
  readonly rail: PowerRail
  readonly trace: TraceRecorder
  /** Sends a frame body from the radio and gives the first frame that comes back, if any does in time. */
  ask(body: Uint8Array, timeoutMs?: number): Uint8Array | undefined
  /** The same by air. */
  askByAir(body: Uint8Array, timeoutMs?: number): Uint8Array | undefined
  wait(ms: number): void
}

/** A receiver on a bus with a radio that does as it is told. */
export function receiverRig(
  bench: Bench,
  receiverId: string,
  memory: ReceiverMemory,
  settleMs = 50,
): ReceiverRig {
  const situation = situationOf(bench, receiverId, 'cable', undefined)
  if (situation === undefined) throw new Error('no such receiver')
  const type = situation.receiverType
  const kernel = new Kernel()
  const trace = new TraceRecorder()
  const line = new Line(kernel, {
    id: 'bus',
    label: 'Bus',
    baud: type.bus.baud,
    parity: 'none',
    bitErrorRate: 0,
    dice: dice(1, 'noise'),
  })
  const port = new PortBuffer()
  const radio = line.attach('radio', 'radio', port)
  const rail = new PowerRail(kernel, trace, {
    feed: feedOf(situation),
    extraOhms: 0,
    type,
    alwaysMilliamps: 0,
  })
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(1, 'flash'),
    tearing: dice(1, 'tear'),
    cut: undefined,
    onCut: () => {},
  })
  const byAir: Uint8Array[] = []
  const receiver = new Receiver({
    kernel,
    trace,
    type,
    memory,
    flasher,
    rail,
    situation,
    bound: true,
    settleMs,
    line,
    overAir: frame => byAir.push(frame),
    onPower: () => {},
  })
  rail.connect(receiver)
  rail.energise(0)
  const wait = (ms: number) => kernel.runTo(kernel.nowNs + msToNs(ms))
  return {
    kernel,
    rail,
    trace,
    wait,
    ask(body, timeoutMs = 400) {
      port.clear()
      kernel.runTo(line.sendFrame(radio, body))
      wait(timeoutMs)
      let found: Uint8Array | undefined
      new FrameDecoder(80).push(port.view, 0, port.length, (frame, length) => {
        if (frame[0] === ADDRESS.receiver) found ??= frame.slice(0, length)
      })
      return found
    },
    askByAir(body, timeoutMs = 400) {
      byAir.length = 0
      receiver.hearAir(body)
      wait(timeoutMs)
      return byAir[0]
    },
  }
}
