/** The flash of an emulated receiver: octets at an address, in pages; erased octets read FF, writing only clears bits. */
export class DeviceMemory {
  readonly octets: Uint8Array
  readonly base: number
  readonly pageOctets: number
  /** Number of the page that `base` lies in, as the boot loader counts. */
  readonly firstPage: number

  /** @param held what it holds to begin with, from `base` on */
  constructor(options: {
    /** How many, all erased; or the very octets that it shares with somebody else. */
    readonly octets: number | Uint8Array
    readonly base?: number
    readonly pageOctets?: number
    readonly firstPage?: number
    readonly held?: Uint8Array
  }) {
    const { octets, held } = options
    this.octets = typeof octets === 'number' ? new Uint8Array(octets).fill(0xff) : octets
    this.base = options.base ?? 0
    this.pageOctets = options.pageOctets ?? 1024
    this.firstPage = options.firstPage ?? 0
    if (held) this.octets.set(held.subarray(0, this.octets.length))
  }

  /** @returns false where not all of it lies inside */
  has(offset: number, count: number): boolean {
    return Number.isInteger(offset) && offset >= 0 && offset + count <= this.octets.length
  }

  eraseAll(): void {
    this.octets.fill(0xff)
  }

  /** @returns false for a page that is not there */
  erasePage(page: number): boolean {
    const from = (page - this.firstPage) * this.pageOctets
    if (!this.has(from, 1)) return false
    this.octets.fill(0xff, from, from + this.pageOctets)
    return true
  }

  write(offset: number, data: Uint8Array): void {
    for (let i = 0; i < data.length; i++) this.octets[offset + i] &= data[i]
  }

  read(offset: number, count: number): Uint8Array {
    return this.octets.slice(offset, offset + count)
  }
}
