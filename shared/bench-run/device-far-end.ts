import type { DialectDevice } from '../dialect/device.ts'
import { bitsPerCharacter } from '../wire/uart.ts'
import type { FarEnd } from './virtual-host.ts'

export interface DeviceLine {
  readonly baud: number
  readonly parity: 'none' | 'even'
  readonly stopBits: 1 | 2
}

/** A device made from a dialect alone, at the far end of a line without faults: no type, no supply, no other talker. */
export class DeviceFarEnd implements FarEnd {
  readonly #device: DialectDevice
  readonly #octetNs: number
  #nowNs = 0
  /** What it is saying now, and when the last octet of it is over. */
  #saying: { readonly octets: Uint8Array; readonly endNs: number } | undefined
  #heard: { readonly octets: Uint8Array }[] = []

  constructor(device: DialectDevice, { baud, parity, stopBits }: DeviceLine) {
    this.#device = device
    this.#octetNs = Math.ceil(((bitsPerCharacter(parity) + stopBits - 1) * 1e9) / baud)
  }

  get nextNs(): number {
    return this.#saying?.endNs ?? Math.max(this.#nowNs, this.#device.due() ?? Number.POSITIVE_INFINITY)
  }

  hear(octets: Uint8Array, atNs: number): void {
    this.#device.hear(octets, atNs + this.durationNs(octets.length))
  }

  /** It speaks at any settings: nothing of the line can be wrong here. */
  begin(): boolean {
    return true
  }

  runTo(atNs: number): void {
    while (this.nextNs <= atNs) {
      this.#nowNs = this.nextNs
      if (this.#saying !== undefined) {
        this.#heard.push({ octets: this.#saying.octets })
        this.#saying = undefined
        continue
      }
      const octets = this.#device.answer(this.#nowNs)
      if (octets !== undefined) this.#saying = { octets, endNs: this.#nowNs + this.durationNs(octets.length) }
    }
    this.#nowNs = Math.max(this.#nowNs, atNs)
  }

  taken(): readonly { readonly octets: Uint8Array }[] {
    const heard = this.#heard
    if (heard.length > 0) this.#heard = []
    return heard
  }

  durationNs(octets: number): number {
    return octets * this.#octetNs
  }

  event(): void {}
}
