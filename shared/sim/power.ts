import type { ReceiverType } from '../model/catalogue.ts'
import type { Feed } from '../wiring/feed.ts'
import { voltsAt } from '../wiring/feed.ts'
import { type Actor, type Kernel, msToNs } from './kernel.ts'
import type { TraceRecorder } from './trace.ts'

/** What hangs on the rail and can lose its power. */
export interface Powered {
  powerUp(): void
  powerFailed(why: string): void
  destroyed(why: string): void
}

/** Beyond this share of the highest voltage on the label the input does not survive. Common practice, no source. */
const FATAL_OVERVOLTAGE = 1.25
/** A port or regulator stands twice its limit for a moment; what two supplies drive through each other is not brief. */
const FATAL_BACKFEED = 2
const RECOVERY_MS = 20

const CODE_RESTART = 1

/**
 * The receiver's supply: one source behind one resistance. Voltage follows from the load at every moment; below the
 * brown-out level the receiver resets, its load is gone, the voltage comes back, and it starts again.
 */
export class PowerRail implements Actor {
  volts = 0
  milliamps = 0
  private on = false
  private live = false
  private readonly kernel: Kernel
  private readonly trace: TraceRecorder
  private readonly feed: Feed
  private readonly extraOhms: number
  private readonly type: ReceiverType
  private readonly alwaysMilliamps: number
  private load: Powered | undefined

  constructor(
    kernel: Kernel,
    trace: TraceRecorder,
    options: { feed: Feed; extraOhms: number; type: ReceiverType; alwaysMilliamps: number },
  ) {
    this.kernel = kernel
    this.trace = trace
    this.feed = options.feed
    this.extraOhms = options.extraOhms
    this.type = options.type
    this.alwaysMilliamps = options.alwaysMilliamps
  }

  connect(load: Powered): void {
    this.load = load
  }

  /**
   * Switches the source on and lets physics happen.
   * @param signalPinVolts what a wrong cable puts on the signal pin; 0 with a sound one
   */
  energise(signalPinVolts: number): void {
    this.on = true
    const { openVolts, backFeedMilliamps, backFeedLimitMilliamps } = this.feed
    const { mostVolts } = this.type.supply
    if (openVolts < 0) return this.kill('the supply was reversed')
    if (signalPinVolts > this.type.bus.signalVolts) return this.kill('the supply was on the signal pin')
    if (openVolts > mostVolts * FATAL_OVERVOLTAGE)
      return this.kill(`${openVolts.toFixed(1)} V on an input for ${mostVolts.toFixed(1)} V`)
    if (backFeedMilliamps > FATAL_BACKFEED * backFeedLimitMilliamps)
      return this.kill(`two supplies drove ${(backFeedMilliamps / 1000).toFixed(1)} A through each other`)
    this.tryStart()
  }

  /** The source goes away and stays away. */
  cut(why: string): void {
    if (!this.on) return
    this.on = false
    this.settle(0)
    if (this.live) this.fail(why)
  }

  /** What the receiver draws from now on. */
  draw(milliamps: number): void {
    if (!this.live) return
    this.settle(milliamps + this.alwaysMilliamps)
    if (this.volts < this.type.supply.brownOutVolts)
      this.fail(`the supply fell to ${this.volts.toFixed(2)} V under ${Math.round(this.milliamps)} mA`)
  }

  wake(code: number): void {
    if (code === CODE_RESTART && this.on && !this.live) this.tryStart()
  }

  private kill(why: string): void {
    this.on = false
    this.trace.supply(this.kernel.nowNs, this.feed.openVolts, 0)
    this.trace.device(this.kernel.nowNs, 'supply', 'on wrong pins', false)
    this.load?.destroyed(why)
  }

  private tryStart(): void {
    this.settle(this.type.draw.bootMilliamps + this.alwaysMilliamps)
    if (this.volts < this.type.supply.restartVolts) {
      this.settle(this.alwaysMilliamps)
      this.trace.device(
        this.kernel.nowNs,
        'supply',
        this.feed.openVolts === 0 ? 'off' : 'too weak to start',
        false,
      )
      return
    }
    this.live = true
    this.trace.device(this.kernel.nowNs, 'supply', this.feed.from, true)
    this.load?.powerUp()
  }

  private fail(why: string): void {
    this.live = false
    this.settle(this.on ? this.alwaysMilliamps : 0)
    this.trace.device(this.kernel.nowNs, 'supply', this.on ? 'sagged' : 'off', false)
    this.load?.powerFailed(why)
    if (this.on) this.kernel.after(msToNs(RECOVERY_MS), this, CODE_RESTART)
  }

  private settle(milliamps: number): void {
    this.milliamps = milliamps
    if (!this.on) this.volts = 0
    else this.volts = Math.max(0, voltsAt(this.feed, milliamps, this.extraOhms))
    this.trace.supply(this.kernel.nowNs, this.volts, milliamps)
  }
}
