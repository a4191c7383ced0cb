import { type Check, checkOf } from '../dialect/checksums.ts'
import { DialectDevice } from '../dialect/device.ts'
import type { DeviceFault } from '../dialect/device-faults.ts'
import { DeviceMemory } from '../dialect/device-memory.ts'
import type { Dialect } from '../dialect/schema.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { addressMapOf, placeOf } from '../sim/address-map.ts'
import { dice } from '../sim/dice.ts'
import type { Actor } from '../sim/kernel.ts'
import type { Listener } from '../sim/line.ts'
import type { ReceiverMemory } from '../sim/memory.ts'
import { recordOfHeld } from '../sim/note-image.ts'
import type { Powered } from '../sim/power.ts'
import type { Workbench } from '../sim/workbench.ts'

/**
 * A receiver whose boot loader is made from a dialect's own data, with power and flash of its own. Its flash is the
 * receiver's program flash; when the loader starts what was written, the receiver notes it as its image.
 */
export interface DialectLoaderOptions {
  readonly bench: Workbench
  readonly dialect: Dialect
  readonly type: ReceiverType
  readonly memory: ReceiverMemory
  readonly seed: number
  readonly fault: DeviceFault | undefined
}

export class DialectLoader implements Actor, Listener, Powered {
  private readonly o: DialectLoaderOptions
  private readonly device: DialectDevice
  private readonly party: number
  private token = 0
  private isOn = false
  private wasOn = false
  private notedCheck: number | undefined
  private readonly checks: readonly Check[]
  /** Its start is a matter of DTR, RTS or the supply, of which no octet tells: then valid is as good as started. */
  private readonly isStartedByLines: boolean
  private wasInLoader = false
  private speaksUntilNs = 0

  constructor(options: DialectLoaderOptions) {
    this.o = options
    const { bench, dialect, type, memory, seed, fault } = options
    this.checks = Object.values(dialect.checks).map(checkOf)
    this.isStartedByLines = !(dialect.start ?? []).some(step => step.do !== 'line' && step.do !== 'wait')
    const place = placeOf(addressMapOf(type, memory), memory.program)
    const { flash } = type
    this.device = new DialectDevice({
      dialect,
      memory: new DeviceMemory({
        octets: memory.program.octets,
        base: flash.programAddress,
        pageOctets: flash.pageBytes,
        firstPage: place?.firstPage ?? 0,
      }),
      ...(fault === undefined ? {} : { fault }),
      times: {
        eraseNsPerPage: ((flash.eraseMs.least + flash.eraseMs.most) / 2) * 1e6,
        programNsPerOctet:
          ((flash.programMicros.least + flash.programMicros.most) / 2 / flash.wordBytes) * 1e3,
      },
      dice: dice(seed, 'dialect-device'),
    })
    this.party = bench.line.attach('boot loader', 'receiver', this)
    bench.rail.connect(this)
  }

  powerUp(): void {
    const { kernel, rail } = this.o.bench
    this.isOn = true
    // A restart is what ends a fault of the device: the first power-up is none.
    if (this.wasOn) this.device.restart(kernel.nowNs)
    this.wasOn = true
    this.wasInLoader = this.device.inBootLoader
    this.tell(this.device.inBootLoader ? 'in its boot loader' : 'running its image', true)
    rail.draw(this.o.type.draw.bootMilliamps)
    this.schedule()
  }

  powerFailed(why: string): void {
    this.isOn = false
    this.token++
    this.o.bench.line.silence(this.party)
    this.tell('without power', false)
    this.fault('power', `The receiver lost its power: ${why}.`)
  }

  destroyed(why: string): void {
    this.isOn = false
    this.o.memory.dead = why
    this.tell('destroyed', false)
  }

  hear(octets: Uint8Array, from: number, to: number): boolean {
    if (!this.isOn || this.device.isDead) return false
    this.device.hear(octets.slice(from, to), this.o.bench.kernel.nowNs)
    this.look()
    return true
  }

  wake(_code: number, token: number): void {
    if (token !== this.token || !this.isOn) return
    const { kernel, line } = this.o.bench
    const octets = this.device.answer(kernel.nowNs)
    if (octets !== undefined) this.speaksUntilNs = line.sendOctets(this.party, octets)
    this.look()
  }

  /** After everything that it did: has it lost its supply, or begun to run what it holds? */
  private look(): void {
    const { device } = this
    if (device.isDead) {
      this.fault('power-cut', 'The supply of the receiver was cut.')
      return this.o.bench.rail.cut('the supply was cut')
    }
    if (this.isStartedByLines && this.isMadeValid()) this.noteImage()
    if (device.inBootLoader !== this.wasInLoader) {
      this.wasInLoader = device.inBootLoader
      if (!device.inBootLoader && device.work.blocks > 0) this.noteImage()
      this.tell(device.inBootLoader ? 'in its boot loader' : 'running its image', true)
    }
    this.schedule()
  }

  /** It has been told the check of the whole image, and what it holds gives the same. */
  private isMadeValid(): boolean {
    const { work } = this.device
    const stated = work.session.get('imageCheck')
    if (stated === undefined || stated === this.notedCheck || work.blocks === 0) return false
    const isRight = this.checks.some(check => work.memoryCheck(check) === stated)
    if (isRight) this.notedCheck = stated
    return isRight
  }

  private noteImage(): void {
    const { memory, type } = this.o
    const record = recordOfHeld(memory, type, this.device.work.session.get('imageLength'))
    const { pageBytes } = memory.record
    memory.record.octets.fill(0xff, record.page * pageBytes, (record.page + 1) * pageBytes)
    memory.record.octets.set(record.octets, record.page * pageBytes)
  }

  private schedule(): void {
    const { kernel } = this.o.bench
    const due = this.device.due()
    this.token++
    if (due !== undefined) kernel.at(Math.max(due, this.speaksUntilNs, kernel.nowNs), this, 0, this.token)
  }

  private tell(state: string, alive: boolean): void {
    const { kernel, trace } = this.o.bench
    trace.device(kernel.nowNs, 'receiver', state, alive)
  }

  private fault(fault: string, text: string): void {
    const { kernel, trace } = this.o.bench
    trace.event(kernel.nowNs, { kind: 'fault', fault, text })
  }
}
