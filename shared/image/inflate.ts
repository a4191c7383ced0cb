/**
 * Unpacks raw DEFLATE data (RFC 1951) into a buffer of the size that it should have. Nothing else is allocated, however
 * the data are made, and never more is written than the buffer holds: what unpacks to more ends there.
 */

export type InflateFault =
  /** It would unpack to more than the buffer holds. */
  | 'more'
  /** It ends before its last block does. */
  | 'cut-off'
  /** It is not what RFC 1951 allows. */
  | 'broken'
  /** Something comes after the last block. */
  | 'rest'

export interface Inflated {
  /** Octets written. */
  readonly length: number
  readonly fault?: InflateFault
}

const MOST_BITS = 15
const END_OF_BLOCK = 256
/** RFC 1951, 3.2.5: shortest length, and extra bits, of the codes 257 to 285. */
const LENGTHS = [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115]
const LENGTH_BASE = Uint16Array.from([...LENGTHS, 131, 163, 195, 227, 258])
const LENGTH_EXTRA = Uint8Array.from([
  0,
  0,
  0,
  0,
  0,
  0,
  0,
  0,
  ...[1, 2, 3, 4, 5].flatMap(n => [n, n, n, n]),
  0,
])
const DISTANCE_EXTRA = Uint8Array.from({ length: 30 }, (_, code) => Math.max(0, (code >> 1) - 1))
const DISTANCE_BASE = Uint16Array.from({ length: 30 }, (_, code) =>
  code < 2 ? code + 1 : ((2 + (code & 1)) << DISTANCE_EXTRA[code]) + 1,
)
/** RFC 1951, 3.2.7: in which order the lengths of the code length code come. */
const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15]

/** A Huffman code as a table: what follows in the data leads to `symbol << 4 | length`, or to 0 where nothing does. */
class Code {
  readonly table = new Uint16Array(1 << MOST_BITS)
  bits = 0

  /**
   * RFC 1951, 3.2.2: the lengths alone determine the code.
   * @returns whether they can be
   */
  build(lengths: Uint8Array, from: number, to: number): boolean {
    const counts = new Uint16Array(MOST_BITS + 1)
    for (let n = from; n < to; n++) counts[lengths[n]]++
    counts[0] = 0
    this.bits = MOST_BITS
    while (this.bits > 1 && counts[this.bits] === 0) this.bits--
    const next = new Uint16Array(MOST_BITS + 1)
    let code = 0
    for (let length = 1; length <= this.bits; length++) {
      code = (code + counts[length - 1]) << 1
      next[length] = code
      if (code + counts[length] > 1 << length) return false
    }
    this.table.fill(0, 0, 1 << this.bits)
    for (let n = from; n < to; n++) {
      const length = lengths[n]
      if (length === 0) continue
      const entry = ((n - from) << 4) | length
      for (let at = reversed(next[length]++, length); at < 1 << this.bits; at += 1 << length)
        this.table[at] = entry
    }
    return true
  }
}

/** Huffman codes are packed from their most significant bit, everything else from the least (3.1.1). */
function reversed(code: number, bits: number): number {
  let out = 0
  for (let n = 0; n < bits; n++) out |= ((code >> n) & 1) << (bits - 1 - n)
  return out
}

class Inflater {
  private readonly packed: Uint8Array
  private readonly out: Uint8Array
  private at = 0
  private held = 0
  private heldBits = 0
  private length = 0
  private readonly literals = new Code()
  private readonly distances = new Code()
  private readonly lengths = new Uint8Array(320)

  constructor(packed: Uint8Array, out: Uint8Array) {
    this.packed = packed
    this.out = out
  }

  run(): Inflated {
    let fault: InflateFault | undefined
    for (let isLast = false; !isLast && fault === undefined; ) {
      isLast = this.take(1) === 1
      fault = this.block(this.take(2))
      // What was read past the end as noughts is worth nothing, whatever it led to.
      if (this.isPastEnd()) fault = 'cut-off'
    }
    if (fault === undefined && this.at - (this.heldBits >> 3) < this.packed.length) fault = 'rest'
    return { length: this.length, ...(fault === undefined ? {} : { fault }) }
  }

  private block(type: number): InflateFault | undefined {
    if (type === 0) return this.stored()
    if (type === 3) return 'broken'
    if (!(type === 1 ? this.fixedCodes() : this.dynamicCodes())) return 'broken'
    return this.compressed()
  }

  /** 3.2.4 */
  private stored(): InflateFault | undefined {
    this.at -= this.heldBits >> 3
    this.held = 0
    this.heldBits = 0
    const count = this.take(16)
    if (this.take(16) !== (count ^ 0xffff)) return 'broken'
    const from = this.at
    if (from + count > this.packed.length) return 'cut-off'
    if (this.length + count > this.out.length) return 'more'
    this.out.set(this.packed.subarray(from, from + count), this.length)
    this.at = from + count
    this.length += count
    return undefined
  }

  /** 3.2.6 */
  private fixedCodes(): boolean {
    const { lengths } = this
    lengths.fill(8, 0, 144).fill(9, 144, 256).fill(7, 256, 280).fill(8, 280, 288).fill(5, 288, 318)
    return this.literals.build(lengths, 0, 288) && this.distances.build(lengths, 288, 318)
  }

  /** 3.2.7 */
  private dynamicCodes(): boolean {
    const literals = this.take(5) + 257
    const distances = this.take(5) + 1
    const ordered = this.take(4) + 4
    if (literals > 286 || distances > 30) return false
    const { lengths } = this
    lengths.fill(0)
    for (let n = 0; n < ordered; n++) lengths[ORDER[n]] = this.take(3)
    if (!this.literals.build(lengths, 0, ORDER.length)) return false
    if (!this.codeLengths(literals + distances)) return false
    if (lengths[END_OF_BLOCK] === 0) return false
    return (
      this.literals.build(lengths, 0, literals) &&
      this.distances.build(lengths, literals, literals + distances)
    )
  }

  /** The lengths of both codes in one run, with codes for repetition; they are read by the literals' table. */
  private codeLengths(count: number): boolean {
    const read = new Uint8Array(count)
    for (let n = 0; n < count; ) {
      const symbol = this.symbol(this.literals)
      if (symbol < 0 || (symbol === 16 && n === 0)) return false
      if (symbol < 16) {
        read[n++] = symbol
        continue
      }
      const repeats = symbol === 16 ? 3 + this.take(2) : symbol === 17 ? 3 + this.take(3) : 11 + this.take(7)
      if (n + repeats > count) return false
      read.fill(symbol === 16 ? read[n - 1] : 0, n, n + repeats)
      n += repeats
    }
    this.lengths.fill(0)
    this.lengths.set(read)
    return true
  }

  /** 3.2.3 */
  private compressed(): InflateFault | undefined {
    const { out } = this
    for (;;) {
      const symbol = this.symbol(this.literals)
      if (symbol < 0 || this.isPastEnd()) return 'broken'
      if (symbol === END_OF_BLOCK) return undefined
      if (symbol < END_OF_BLOCK) {
        if (this.length === out.length) return 'more'
        out[this.length++] = symbol
        continue
      }
      const fault = this.repeat(symbol - END_OF_BLOCK - 1)
      if (fault !== undefined) return fault
    }
  }

  private repeat(lengthCode: number): InflateFault | undefined {
    if (lengthCode >= LENGTH_BASE.length) return 'broken'
    const count = LENGTH_BASE[lengthCode] + this.take(LENGTH_EXTRA[lengthCode])
    const code = this.symbol(this.distances)
    if (code < 0 || code >= DISTANCE_BASE.length) return 'broken'
    const distance = DISTANCE_BASE[code] + this.take(DISTANCE_EXTRA[code])
    const { out, length } = this
    if (distance > length) return 'broken'
    if (length + count > out.length) return 'more'
    // What is copied may overlap what it is copied to: then it repeats.
    for (let to = length; to < length + count; to++) out[to] = out[to - distance]
    this.length = length + count
    return undefined
  }

  /** @returns -1 where the data are no symbol of this code */
  private symbol(code: Code): number {
    this.hold(code.bits)
    const entry = code.table[this.held & ((1 << code.bits) - 1)]
    if (entry === 0) return -1
    this.drop(entry & 15)
    return entry >> 4
  }

  private take(bits: number): number {
    this.hold(bits)
    const value = this.held & ((1 << bits) - 1)
    this.drop(bits)
    return value
  }

  /** At most 16 bits, so that all that are held fit into 23. Past the end there are noughts. */
  private hold(bits: number): void {
    while (this.heldBits < bits) {
      this.held |= (this.packed[this.at++] ?? 0) << this.heldBits
      this.heldBits += 8
    }
  }

  private drop(bits: number): void {
    this.held >>>= bits
    this.heldBits -= bits
  }

  private isPastEnd(): boolean {
    return this.at - (this.heldBits >> 3) > this.packed.length
  }
}

/**
 * @param packed DEFLATE data without a wrapper, whole
 * @param out of the size that the data should have when unpacked; what is written is there also after a fault
 */
export const inflateInto = (packed: Uint8Array, out: Uint8Array): Inflated => new Inflater(packed, out).run()
