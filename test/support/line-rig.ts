import { dice } from '../../shared/sim/dice.ts'
import type { Actor } from '../../shared/sim/kernel.ts'
import { Kernel } from '../../shared/sim/kernel.ts'
import { Line, type LineOptions, type Listener, type Side } from '../../shared/sim/line.ts'

/** Somebody on a line who keeps what arrives, with the time. */
export class Ear implements Listener {
  readonly got: { atNs: number; octets: number[]; whole: boolean }[] = []
  readonly party: number
  private readonly kernel: Kernel
  constructor(kernel: Kernel, line: Line, name: string, side: Side) {
    this.kernel = kernel
    this.party = line.attach(name, side, this)
  }
  hear(octets: Uint8Array, from: number, to: number, whole: boolean): void {
    this.got.push({ atNs: this.kernel.nowNs, octets: [...octets.subarray(from, to)], whole })
  }
  get octets(): number[] {
    return this.got.flatMap(g => g.octets)
  }
}

/** Does things at times of the kernel. */
export class Later implements Actor {
  private readonly kernel: Kernel
  private readonly things: (() => void)[] = []
  constructor(kernel: Kernel) {
    this.kernel = kernel
  }
  at(atNs: number, thing: () => void): void {
    this.kernel.at(atNs, this, this.things.push(thing) - 1)
  }
  wake(code: number): void {
    this.things[code]()
  }
}

export function lineRig(options: Partial<LineOptions> = {}) {
  const kernel = new Kernel()
  const line = new Line(kernel, {
    id: 'bus',
    label: 'Bus',
    baud: 115_200,
    parity: 'none',
    bitErrorRate: 0,
    dice: dice(1, 'noise'),
    ...options,
  })
  const later = new Later(kernel)
  const ear = (name: string, side: Side) => new Ear(kernel, line, name, side)
  const run = () => {
    while (kernel.step());
  }
  return { kernel, line, later, ear, run }
}
