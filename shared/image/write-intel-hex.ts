import { ADDRESS_SPACE, endOf, type Segment, sayAddress } from './segments.ts'

/** Writes Intel HEX after Intel's specification, revision A (1988). */

export interface HexWriteOptions {
  /** Data octets in a record, 1..255; 16 unless given. */
  readonly recordOctets?: number
  readonly lineEnd?: '\n' | '\r\n'
  /** `linear`: type 04 records, 32 bits. `segmented`: type 02 records, the first 1 MiB. */
  readonly addressing?: 'linear' | 'segmented'
  readonly startLinear?: number
  readonly startSegment?: { readonly cs: number; readonly ip: number }
}

const SEGMENTED_SPACE = 2 ** 20
const HEX = Array.from({ length: 256 }, (_, octet) => octet.toString(16).toUpperCase().padStart(2, '0'))

/**
 * The file's text. No record runs over a 64 KiB boundary, and each has its own address, so any reader takes it.
 * @param segments not overlapping; written in the order given
 * @throws RangeError for a record length or an address that the chosen addressing does not have
 */
export function writeIntelHex(segments: readonly Segment[], options: HexWriteOptions = {}): string {
  const { recordOctets = 16, lineEnd = '\n', addressing = 'linear', startLinear, startSegment } = options
  if (!Number.isInteger(recordOctets) || recordOctets < 1 || recordOctets > 255)
    throw new RangeError(`records of ${recordOctets} octets`)
  const space = addressing === 'linear' ? ADDRESS_SPACE : SEGMENTED_SPACE
  const lines: string[] = []
  let page: number | undefined
  for (const segment of segments) {
    if (segment.address < 0 || endOf(segment) > space)
      throw new RangeError(`${sayAddress(segment.address)} is out of reach of ${addressing} addressing`)
    for (let at = 0; at < segment.octets.length; ) {
      const address = segment.address + at
      if (page !== Math.floor(address / 65_536)) {
        page = Math.floor(address / 65_536)
        lines.push(addressing === 'linear' ? word(4, page) : word(2, page << 12))
      }
      const offset = address % 65_536
      const count = Math.min(recordOctets, segment.octets.length - at, 65_536 - offset)
      lines.push(record(0, offset, segment.octets, at, at + count))
      at += count
    }
  }
  if (startSegment !== undefined) lines.push(words(3, startSegment.cs, startSegment.ip))
  if (startLinear !== undefined) lines.push(words(5, startLinear >>> 16, startLinear & 0xffff))
  lines.push(record(1, 0, new Uint8Array(0), 0, 0), '')
  return lines.join(lineEnd)
}

function record(type: number, offset: number, octets: Uint8Array, from: number, to: number): string {
  let text = `:${HEX[to - from]}${HEX[offset >> 8]}${HEX[offset & 0xff]}${HEX[type]}`
  let sum = to - from + (offset >> 8) + (offset & 0xff) + type
  for (let i = from; i < to; i++) {
    text += HEX[octets[i]]
    sum += octets[i]
  }
  return text + HEX[-sum & 0xff]
}

const word = (type: number, value: number): string =>
  record(type, 0, Uint8Array.of(value >> 8, value & 0xff), 0, 2)
const words = (type: number, high: number, low: number): string =>
  record(type, 0, Uint8Array.of(high >> 8, high & 0xff, low >> 8, low & 0xff), 0, 4)
