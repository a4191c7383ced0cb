import { linkEndsOf } from '../fit/link-ends.ts'
import { firstBroken } from '../fit/rules.ts'
import { type ImageFacts, type Situation, situationOf } from '../fit/situation.ts'
import { ProblemError } from '../model/problem.ts'
import { isKnown } from '../model/units.ts'
import { ADDRESS } from '../procedure/bus.ts'
import type { Procedure } from '../procedure/effects.ts'
import { carries, type Feed, feedOf, voltsOnSignalPin } from '../wiring/feed.ts'
import { alwaysMilliamps } from '../wiring/load.ts'
import { Air, airTiming } from './air.ts'
import { VirtualCard } from './card.ts'
import { dice } from './dice.ts'
import { Flasher } from './flasher.ts'
import { type Actor, Kernel, msToNs } from './kernel.ts'
import { Line } from './line.ts'
import type { ReceiverMemory } from './memory.ts'
import { RfModule } from './module.ts'
import { Poller, Sensor } from './parties.ts'
import { PortBuffer } from './port.ts'
import { PowerRail } from './power.ts'
import { Receiver } from './receiver.ts'
import { VirtualRunner } from './runner.ts'
import { type Trace, TraceRecorder } from './trace.ts'
import type { Setup } from './world.ts'

/** One table with everything on it, ready to be let go: the devices, their wires, and what will happen to them. */

const POLL_SLOT_NS = msToNs(12)
/** The wire between the radio's processor and its module; common practice for such links, no source. */
const MODULE_PORT_BAUD = 400_000
const RADIO_OWN_MILLIAMPS = 180

const HAPPENS = { powerCut: 1, cableLoose: 2, cardPulled: 3, radioDies: 4 } as const

export interface SessionEnd<R> {
  /** Undefined when the radio died under the procedure. */
  readonly result: R | undefined
  readonly radioDied: boolean
  readonly trace: Trace
  readonly endNs: number
  readonly effects: number
  readonly flashOperations: number
}

export interface SessionOptions {
  readonly setup: Setup
  readonly seed: number
  readonly memory: ReceiverMemory
  /** What is on the card, for the rules that radio and module stand by. */
  readonly image: ImageFacts
  /** Called when a file on the card has got its final name: what faults do to it then. */
  readonly onStaged: (card: VirtualCard) => void
}

/** @throws ProblemError when the receiver or its type is not on the bench */
export function runSession<R>(options: SessionOptions, procedure: Procedure<R>): SessionEnd<R> {
  return new Session(options).run(procedure)
}

class Session implements Actor {
  private readonly kernel = new Kernel()
  private readonly trace = new TraceRecorder()
  private readonly port = new PortBuffer()
  private readonly situation: Situation
  private readonly feed: Feed
  private readonly rail: PowerRail
  private readonly line: Line
  private readonly party: number
  private readonly card: VirtualCard
  private readonly sensors: Sensor[] = []
  private readonly flasher: Flasher
  private readonly runner: VirtualRunner
  private poller: Poller | undefined
  private readonly o: SessionOptions

  constructor(options: SessionOptions) {
    this.o = options
    const { bench, receiverId, route, world } = options.setup
    const situation = situationOf(bench, receiverId, route, options.image)
    if (situation === undefined)
      throw new ProblemError({
        code: 'bench.no-receiver',
        message: `There is no receiver called "${receiverId}" on this bench.`,
      })
    this.situation = situation
    const type = situation.receiverType
    const { kernel, trace } = this
    this.feed = feedOf(situation)
    this.rail = new PowerRail(kernel, trace, {
      feed: this.feed,
      extraOhms: world.extraSupplyOhms,
      type,
      alwaysMilliamps: alwaysMilliamps(this.feed, situation.model?.servos ?? 0),
    })
    const cable = route === 'cable'
    this.line = new Line(kernel, {
      id: cable ? 'bus' : 'module-port',
      label: cable ? 'Telemetry bus' : 'Radio to module',
      baud: cable ? type.bus.baud : MODULE_PORT_BAUD,
      parity: 'none',
      bitErrorRate: cable ? world.bitErrorRate : 0,
      dice: dice(options.seed, 'noise'),
    })
    this.party = this.line.attach('radio', 'radio', this.port)
    trace.lanes.push(this.line.recorder)
    this.card = new VirtualCard(situation.card, trace)
    this.flasher = new Flasher({
      kernel,
      trace,
      type,
      timing: dice(options.seed, 'flash'),
      tearing: dice(options.seed, 'tearing'),
      cut: world.cut,
      onCut: () => this.powerCut(),
      wornAt: world.wornFlashAt,
    })
    const receiver = this.makeReceiver(cable ? undefined : this.makeAir())
    this.rail.connect(receiver)
    this.runner = this.makeRunner()
    if (cable) this.layCable()
  }

  run<R>(procedure: Procedure<R>): SessionEnd<R> {
    this.schedule()
    this.trace.device(0, 'radio', 'on', true)
    this.rail.energise(voltsOnSignalPin(this.situation))
    this.poller?.start()
    const result = this.runner.run(procedure)
    const endNs = this.kernel.nowNs
    this.trace.closePhase(endNs, result === undefined ? 'broken-off' : 'done')
    return {
      result,
      radioDied: this.runner.stopped,
      trace: this.trace.done(endNs),
      endNs,
      effects: this.runner.effects,
      flashOperations: this.flasher.operations,
    }
  }

  wake(code: number): void {
    switch (code) {
      case HAPPENS.powerCut:
        return this.powerCut()
      case HAPPENS.cableLoose:
        return this.cableOpens()
      case HAPPENS.cardPulled:
        return this.card.pull(this.kernel.nowNs)
      case HAPPENS.radioDies:
        return this.radioDies()
    }
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

  private layCable(): void {
    const { situation, kernel, line } = this
    const { world } = this.o.setup
    const whole = carries(situation.cable, 'signal') && carries(situation.cable, 'negative')
    this.trace.device(0, 'cable', whole ? 'connected' : 'no signal through it', whole)
    if (!whole) line.open()
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

  private makeRunner(): VirtualRunner {
    const { world } = this.o.setup
    const { cut } = world
    return new VirtualRunner({
      kernel: this.kernel,
      trace: this.trace,
      line: this.line,
      party: this.party,
      port: this.port,
      card: this.card,
      mayOpen: () => {
        const finding = firstBroken(this.situation, 'radio')
        return finding && { rule: finding.rule.id, text: finding.sentence }
      },
      beforeEffect: index => {
        if (cut?.at === 'effect' && cut.index === index) this.powerCut()
      },
      onOpen: () => {
        this.poller?.stop()
        this.trace.device(this.kernel.nowNs, 'radio', 'updating', true)
      },
      onStaged: () => this.o.onStaged(this.card),
    })
  }

  private schedule(): void {
    const { world, route } = this.o.setup
    const at = (ms: number | undefined, code: number) => {
      if (ms !== undefined) this.kernel.at(msToNs(ms), this, code)
    }
    at(world.powerCutAtMs, HAPPENS.powerCut)
    at(world.cardPulledAtMs, HAPPENS.cardPulled)
    if (route === 'cable') at(world.cableLooseAtMs, HAPPENS.cableLoose)
    at(this.batteryEndsAtMs(), HAPPENS.radioDies)
  }

  /** When the battery, under the radio's and the module's load, falls to where the radio switches itself off. */
  private batteryEndsAtMs(): number | undefined {
    const { radio, radioType, moduleType } = this.situation
    const { world, route } = this.o.setup
    if (radio === undefined || radioType === undefined) return undefined
    const milliamps = RADIO_OWN_MILLIAMPS + (route === 'wireless' ? (moduleType?.drawMilliamps ?? 0) : 0)
    const underLoad = radio.batteryVolts - (milliamps / 1000) * radioType.battery.internalOhms
    const spare = underLoad - radioType.battery.cutOffVolts
    if (spare <= 0) return 0
    return world.batteryVoltsPerMinute > 0 ? (spare / world.batteryVoltsPerMinute) * 60_000 : undefined
  }

  private fault(fault: string, text: string): void {
    this.trace.event(this.kernel.nowNs, { kind: 'fault', fault, text })
  }

  private powerCut(): void {
    this.fault('power-cut', 'The supply of the receiver was cut.')
    this.rail.cut('the supply was cut')
  }

  private cableOpens(): void {
    this.fault('cable-loose', 'The update cable came loose.')
    this.trace.device(this.kernel.nowNs, 'cable', 'loose', false)
    this.line.open()
    if (this.feed.throughCable) this.rail.cut('the cable that fed it came loose')
  }

  private radioDies(): void {
    this.fault('radio-battery-low', 'The battery of the radio is empty: the radio switched itself off.')
    this.trace.device(this.kernel.nowNs, 'radio', 'off: battery empty', false)
    this.poller?.stop()
    if (this.feed.throughCable) this.rail.cut('the radio that fed it went off')
    this.runner.stopped = true
  }
}
