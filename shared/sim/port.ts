import type { Listener } from './line.ts'

/** What has arrived at the radio's end and nobody has taken yet. */
export class PortBuffer implements Listener {
  private octets = new Uint8Array(4096)
  length = 0

  hear(octets: Uint8Array, from: number, to: number): void {
    const count = to - from
    if (this.length + count > this.octets.length) {
      const next = new Uint8Array((this.length + count) * 2)
      next.set(this.octets.subarray(0, this.length))
      this.octets = next
    }
    this.octets.set(octets.subarray(from, to), this.length)
    this.length += count
  }

  get view(): Uint8Array {
    return this.octets.subarray(0, this.length)
  }

  take(count: number): Uint8Array {
    const taken = this.octets.slice(0, count)
    this.octets.copyWithin(0, count, this.length)
    this.length -= count
    return taken
  }

  clear(): void {
    this.length = 0
  }
}
