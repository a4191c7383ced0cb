import type { Actor, Kernel } from '../sim/kernel.ts'
import type { Line, Listener } from '../sim/line.ts'
import type { DialectDevice } from './device.ts'

/** An emulated receiver at a line of the simulator. */
export class DialectParty implements Actor, Listener {
  private readonly kernel: Kernel
  private readonly line: Line
  private readonly device: DialectDevice
  private readonly party: number
  private token = 0
  /** While it speaks it does not begin to say the next thing. */
  private speaksUntilNs = 0

  constructor(kernel: Kernel, line: Line, device: DialectDevice) {
    this.kernel = kernel
    this.line = line
    this.device = device
    this.party = line.attach('emulated receiver', 'receiver', this)
    this.schedule()
  }

  hear(octets: Uint8Array, from: number, to: number): void {
    this.device.hear(octets.slice(from, to), this.kernel.nowNs)
    this.schedule()
  }

  wake(_code: number, token: number): void {
    if (token !== this.token) return
    const octets = this.device.answer(this.kernel.nowNs)
    if (octets !== undefined) this.speaksUntilNs = this.line.sendOctets(this.party, octets)
    this.schedule()
  }

  private schedule(): void {
    const due = this.device.due()
    this.token++
    if (due !== undefined)
      this.kernel.at(Math.max(due, this.speaksUntilNs, this.kernel.nowNs), this, 0, this.token)
  }
}
