import { ADDRESS_SPACE, endOf, type Segment, sayAddress } from './segments.ts'

/** Writes Motorola S-records after the appendix of the M68000 family reference. */

export interface SRecordWriteOptions {
  /** Data octets in a record, 1 to 250; 16 unless given. */
  readonly recordOctets?: number
  readonly lineEnd?: '\n' | '\r\n'
  /** Bits of an address: 16 (S1), 24 (S2) or 32 (S3). The fewest that do unless given. */
  readonly addressBits?: 16 | 24 | 32
  /** Text of the S0 record, ASCII, up to 250 characters. */
  readonly header?: string
  readonly startAddress?: number
  /** Whether to write how many data records there are (S5, or S6 for more than 65,535); written unless false. */
  readonly count?: boolean
}

const HEX = Array.from({ length: 256 }, (_, octet) => octet.toString(16).toUpperCase().padStart(2, '0'))
const MOST_RECORD_OCTETS = 250
const BITS = [16, 24, 32] as const

/**
 * The file's text.
 * @param segments not overlapping; written in the order given
 * @throws RangeError for a record length, an address or a header that does not fit
 */
export function writeSRecords(segments: readonly Segment[], options: SRecordWriteOptions = {}): string {
  const { recordOctets = 16, lineEnd = '\n', header = '', startAddress = 0, count = true } = options
  if (!Number.isInteger(recordOctets) || recordOctets < 1 || recordOctets > MOST_RECORD_OCTETS)
    throw new RangeError(`records of ${recordOctets} octets`)
  const end = Math.max(startAddress + 1, ...segments.map(endOf))
  const bits = options.addressBits ?? BITS.find(b => end <= 2 ** b) ?? 32
  for (const at of [startAddress, ...segments.map(s => s.address)])
    if (!Number.isInteger(at) || at < 0) throw new RangeError(`${at} is no address`)
  if (end > Math.min(2 ** bits, ADDRESS_SPACE))
    throw new RangeError(`${sayAddress(end - 1)} does not fit ${bits} bits`)
  const addressOctets = bits / 8
  const lines = [record(0, 2, 0, asciiOctets(header), 0, header.length)]
  for (const { address, octets } of segments)
    for (let at = 0; at < octets.length; at += recordOctets) {
      const to = Math.min(at + recordOctets, octets.length)
      lines.push(record(addressOctets - 1, addressOctets, address + at, octets, at, to))
    }
  const none = new Uint8Array(0)
  const written = lines.length - 1
  if (count && written < 2 ** 24)
    lines.push(written < 2 ** 16 ? record(5, 2, written, none, 0, 0) : record(6, 3, written, none, 0, 0))
  lines.push(record(11 - addressOctets, addressOctets, startAddress, none, 0, 0), '')
  return lines.join(lineEnd)
}

function asciiOctets(text: string): Uint8Array {
  if (!/^[ -~]{0,250}$/.test(text)) throw new RangeError('the header is not short ASCII text')
  return Uint8Array.from(text, character => character.charCodeAt(0))
}

function record(
  type: number,
  addressOctets: number,
  address: number,
  octets: Uint8Array,
  from: number,
  to: number,
): string {
  const count = addressOctets + to - from + 1
  let text = `S${type}${HEX[count]}`
  let sum = count
  for (let n = addressOctets - 1; n >= 0; n--) {
    const octet = (address >>> (8 * n)) & 0xff
    text += HEX[octet]
    sum += octet
  }
  for (let i = from; i < to; i++) {
    text += HEX[octets[i]]
    sum += octets[i]
  }
  return text + HEX[~sum & 0xff]
}
