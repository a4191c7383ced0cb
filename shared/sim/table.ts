import { linkEndsOf } from '../fit/link-ends.ts'
import { type ImageFacts, type Situation, situationOf } from '../fit/situation.ts'
import { ProblemError } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import { ADDRESS } from '../procedure/bus.ts'
import { type Feed, feedOf, voltsOnSignalPin } from '../wiring/feed.ts'
import { alwaysMilliamps } from '../wiring/load.ts'
import { Air, airTiming } from './air.ts'
import { cableStateOf } from './cable-state.ts'
import { dice } from './dice.ts'
import { Flasher } from './flasher.ts'
import { type Actor, Kernel, msToNs } from './kernel.ts'
import { Line, type Listener, type PartyOptions } from './line.ts'
import type { ReceiverMemory } from './memory.ts'
import { RfModule } from './module.ts'
import { Poller, Sensor } from './parties.ts'
import { PowerRail } from './power.ts'
import { Receiver } from './receiver.ts'
import { TraceRecorder } from './trace.ts'
import type { Setup } from './world.ts'

/**
 * The devices on one table and the wires between them, without whoever carries the update out: a rehearsed procedure
 * sits at this end of the line in a session, somebody outside in a live table.
 */

const POLL_SLOT_NS = msToNs(12)
/** The wire between the radio's processor and its module; common practice for such links, no source. */
const MODULE_PORT_BAUD = 400_000

const DEAF: Listener = { hear: () => false }

const HAPPENS = { powerCut: 1, cableLoose: 2, supplyReturns: 3 } as const

export interface TableOptions {
  readonly setup: Setup
  readonly seed: number
  readonly memory: ReceiverMemory
  /** The image that is to be written, where it is known, for the rules that radio and module stand by. */
  readonly image: ImageFacts | undefined
  /** Who is at the near end of the line. */
  readonly host: { readonly name: string; readonly listener: Listener } & PartyOptions
  /** What characters really take on the line; as long as its rate says where left out. */
  readonly lineBitsPerSecond?: number
}

export class Table implements Actor {
  readonly kernel = new Kernel()
  readonly trace = new TraceRecorder()
  readonly situation: Situation
  readonly feed: Feed
  readonly rail: PowerRail
  readonly line: Line
  /** The near end of the line. */
  readonly party: number
  readonly flasher: Flasher
  readonly receiver: Receiver
  /** The radio's telemetry cycle; none where the radio reaches the receiver by air. */
  poller: Poller | undefined
  private readonly sensors: Sensor[] = []
  private readonly o: TableOptions

  /** @throws ProblemError when the receiver or its type is not on the bench */
  constructor(options: TableOptions) {
    this.o = options
    const { kernel, trace } = this
    const { seed, host, setup } = options
    const { world } = setup
    this.situation = situationFor(options)
    const type = this.situation.receiverType
    this.feed = feedOf(this.situation)
    this.rail = new PowerRail(kernel, trace, {
      feed: this.feed,
      extraOhms: world.extraSupplyOhms,
      type,
      alwaysMilliamps: alwaysMilliamps(this.feed, this.situation.model?.servos ?? 0),
    })
    this.line = this.layLine()
    const hears = !this.byCable || world.nearEnd === 'sound'
    this.party = this.line.attach(host.name, 'radio', hears ? host.listener : DEAF, host)
    trace.lanes.push(this.line.recorder)
    this.flasher = new Flasher({
      kernel,
      trace,
      type,
      timing: dice(seed, 'flash'),
      tearing: dice(seed, 'tearing'),
      cut: world.cut,
      onCut: () => this.powerCut(),
      wornAt: world.wornFlashAt,
    })
    this.receiver = this.makeReceiver(this.byCable ? undefined : this.makeAir())
    this.rail.connect(this.receiver)
  }

  private get byCable(): boolean {
    return this.o.setup.route === 'cable'
  }

  /** Puts the update cable, the sensors and the radio's polling on the line. By air there is none of it. */
  layCable(): void {
    if (!this.byCable) return
    const { situation, kernel, line } = this
    const { world } = this.o.setup
    const { cableFeed } = situation.bench.wiring
    const { isWhole, state, alive, wires } = cableStateOf(situation.cable, world.nearEnd, cableFeed)
    this.trace.device(0, 'cable', state, alive, wires)
    if (!isWhole) line.open()
    const onBench = situation.bench.sensors.filter(s => s.receiverId === situation.receiver.id)
    const talksForMs = world.sensorTalksForMs
    // A chatty sensor needs a sensor; where the bench has none, somebody has left one plugged in.
    const fitted =
      onBench.length > 0 || talksForMs === undefined
        ? onBench
        : [{ nickname: 'A sensor', busAddress: 0x22, replyOctets: 8 }]
    fitted.forEach((s, i) =>
      this.sensors.push(
        new Sensor(kernel, line, {
          name: s.nickname,
          address: s.busAddress,
          replyOctets: s.replyOctets,
          ...(i === 0 && talksForMs !== undefined ? { talksForNs: msToNs(talksForMs) } : {}),
        }),
      ),
    )
    const addresses = [ADDRESS.receiver, ...fitted.map(s => s.busAddress)]
    this.poller = new Poller(kernel, line, this.party, addresses, POLL_SLOT_NS)
  }

  /** Lets the faults of cable and supply happen at their times, counted from now. */
  schedule(): void {
    const { powerCutAtMs, cableLooseAtMs } = this.o.setup.world
    const at = (ms: number | undefined, code: number) => {
      if (ms !== undefined) this.kernel.after(msToNs(ms), this, code)
    }
    at(powerCutAtMs, HAPPENS.powerCut)
    if (this.byCable) at(cableLooseAtMs, HAPPENS.cableLoose)
  }

  /** Switches the supply and the radio on. */
  switchOn(): void {
    this.trace.device(this.kernel.nowNs, 'radio', 'on', true)
    this.energise()
    this.poller?.start()
  }

  /** The radio gives the line to whoever carries the update out: it polls no more. */
  handOver(): void {
    this.poller?.stop()
    this.trace.device(this.kernel.nowNs, 'radio', 'updating', true)
  }

  wake(code: number): void {
    if (code === HAPPENS.powerCut) this.powerCut()
    else if (code === HAPPENS.cableLoose) this.cableOpens()
    else if (code === HAPPENS.supplyReturns) this.energise()
  }

  powerCut(): void {
    this.fault('power-cut', 'The supply of the receiver was cut.')
    this.rail.cut('the supply was cut')
    const { supplyReturnsAfterMs } = this.o.setup.world
    if (supplyReturnsAfterMs !== undefined)
      this.kernel.after(msToNs(supplyReturnsAfterMs), this, HAPPENS.supplyReturns)
  }

  /** Switches the supply of the receiver on. */
  energise(): void {
    this.rail.energise(voltsOnSignalPin(this.situation))
  }

  fault(fault: string, text: string): void {
    this.trace.event(this.kernel.nowNs, { kind: 'fault', fault, text })
  }

  private cableOpens(): void {
    this.fault('cable-loose', 'The update cable came loose.')
    this.trace.device(this.kernel.nowNs, 'cable', 'loose', false, [])
    this.line.open()
    if (this.feed.throughCable) this.rail.cut('the cable that fed it came loose')
  }

  private layLine(): Line {
    const { setup, seed, lineBitsPerSecond } = this.o
    const { byCable } = this
    return new Line(this.kernel, {
      id: byCable ? 'bus' : 'module-port',
      label: byCable ? 'Telemetry bus' : 'Radio to module',
      baud: byCable ? this.situation.receiverType.bus.baud : MODULE_PORT_BAUD,
      parity: 'none',
      bitErrorRate: byCable ? setup.world.bitErrorRate : 0,
      dice: dice(seed, 'noise'),
      bitsPerSecond: lineBitsPerSecond,
    })
  }

  private makeReceiver(air: Air | undefined): Receiver {
    const { kernel, trace, flasher, rail, situation } = this
    const { world } = this.o.setup
    if (world.receiverDead) this.o.memory.dead ??= 'it was dead before'
    const receiver = new Receiver({
      kernel,
      trace,
      type: situation.receiverType,
      memory: this.o.memory,
      flasher,
      rail,
      situation: { ...situation, image: undefined },
      bound: !world.bindingLost,
      settleMs: world.settleMs ?? situation.receiverType.boot.settleMs,
      line: air === undefined ? this.line : undefined,
      overAir: frame => air?.fromReceiver(frame),
      onPower: on => {
        for (const sensor of this.sensors) sensor.power(on)
      },
    })
    if (air) air.connect(new RfModule(kernel, trace, this.line, air, situation), receiver)
    return receiver
  }

  private makeAir(): Air {
    const { situation } = this
    const { world } = this.o.setup
    const ends = linkEndsOf(situation, world.antennaLossDb)
    const region = situation.module?.region ?? 'lbt'
    const air = new Air(this.kernel, {
      // Without a module the radio refuses before anything is sent; the figures are then never looked at.
      ends: ends ?? {
        megahertz: 2441,
        metres: 1,
        powerDbm: -30,
        transmitGainDbi: 0,
        receiveGainDbi: 0,
        sensitivityDbm: 0,
        overloadDbm: 0,
      },
      timing: airTiming(situation.module?.band ?? '2.4GHz'),
      region: isKnown(region) ? region : 'lbt',
      interference: world.interference,
      loss: dice(this.o.seed, 'air-loss'),
      traffic: dice(this.o.seed, 'air-traffic'),
    })
    this.trace.lanes.push(air.recorder)
    return air
  }
}

function situationFor({ setup, image }: TableOptions): Situation {
  const { bench, receiverId, route } = setup
  const situation = situationOf(bench, receiverId, route, image)
  if (situation !== undefined) return situation
  throw new ProblemError({
    code: 'bench.no-receiver',
    message: `There is no receiver called "${receiverId}" on this bench.`,
  })
}
