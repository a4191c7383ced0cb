import type { Problem } from '../model/problem.ts'
import { ADDRESS_SPACE, type Segment, sayAddress } from './segments.ts'

/** A file of more separate pieces than this is no controller's image. */
export const MOST_SEGMENTS = 4096
const MOST_REPORTED = 20
/** A UF2 block's data is the longest there is. */
const LONGEST_RECORD = 476

/** How the parts of a format are called when something is wrong with one. */
export interface RecordWording {
  /** First part of the codes: `hex`, `s-record`, `uf2`. */
  readonly format: string
  /** What one part is called: `line`, `block`. */
  readonly part: string
  /** Where in the file the part with this number is. */
  readonly place: (number: number) => Pick<Problem, 'line' | 'field'>
}

export const HEX_WORDING: RecordWording = { format: 'hex', part: 'line', place: line => ({ line }) }

/**
 * The data records of a file in columns, in the order of the file; grows as needed. Whoever knows how many there may
 * be says so: memory that is not used costs nothing, and outgrown columns would lie about until they are collected.
 */
export class DataRecords {
  length = 0
  /** Data octets of all records. */
  octetCount = 0
  /** No record begins below the end of the one before it. */
  ascending = true
  address: Float64Array
  count: Uint16Array
  /** The line or block that it came from. */
  line: Uint32Array
  /** Where the record's data begins in `octets`. */
  offset: Uint32Array
  octets: Uint8Array
  private end = 0

  constructor(records = 1024, octets = 16 * 1024) {
    const most = Math.max(1, Math.ceil(records))
    this.address = new Float64Array(most)
    this.count = new Uint16Array(most)
    this.line = new Uint32Array(most)
    this.offset = new Uint32Array(most)
    this.octets = new Uint8Array(Math.max(LONGEST_RECORD, Math.ceil(octets)))
  }

  add(address: number, data: Uint8Array, from: number, to: number, line: number): void {
    const count = to - from
    if (this.length === this.address.length) this.growColumns()
    if (this.octetCount + count > this.octets.length) {
      const larger = new Uint8Array(2 * this.octets.length)
      larger.set(this.octets)
      this.octets = larger
    }
    const n = this.length++
    this.address[n] = address
    this.count[n] = count
    this.line[n] = line
    this.offset[n] = this.octetCount
    const { octets, octetCount } = this
    for (let i = 0; i < count; i++) octets[octetCount + i] = data[from + i]
    this.octetCount += count
    if (address < this.end) this.ascending = false
    this.end = address + count
  }

  private growColumns(): void {
    const size = 2 * this.address.length
    const address = new Float64Array(size)
    const count = new Uint16Array(size)
    const line = new Uint32Array(size)
    const offset = new Uint32Array(size)
    address.set(this.address)
    count.set(this.count)
    line.set(this.line)
    offset.set(this.offset)
    Object.assign(this, { address, count, line, offset })
  }
}

export interface Assembled {
  readonly segments: Segment[]
  readonly errors: Problem[]
  readonly warnings: Problem[]
}

/** Puts the records in order of address and joins those that touch; finds what is given twice. */
export function assembleRecords(records: DataRecords, file: string, wording = HEX_WORDING): Assembled {
  const order = new Uint32Array(records.length)
  for (let n = 0; n < order.length; n++) order[n] = n
  if (!records.ascending) order.sort((a, b) => records.address[a] - records.address[b] || a - b)
  const errors: Problem[] = []
  const warnings: Problem[] = []
  const segments: Segment[] = []
  for (let first = 0; first < order.length; ) {
    const next = endOfRun(records, order, first)
    if (segments.length === MOST_SEGMENTS) {
      errors.push(tooScattered(file, wording))
      break
    }
    segments.push(joinRun(records, order, first, next, { file, wording, errors, warnings }))
    first = next
  }
  return { segments, errors, warnings }
}

/** Place in `order` of the first record after `first` that does not touch what came before. */
function endOfRun(records: DataRecords, order: Uint32Array, first: number): number {
  let end = records.address[order[first]]
  let n = first
  for (; n < order.length && records.address[order[n]] <= end; n++)
    end = Math.max(end, records.address[order[n]] + records.count[order[n]])
  return n
}

function joinRun(
  records: DataRecords,
  order: Uint32Array,
  first: number,
  next: number,
  into: { file: string; wording: RecordWording; errors: Problem[]; warnings: Problem[] },
): Segment {
  const { errors, warnings } = into
  const address = records.address[order[first]]
  let end = address
  for (let n = first; n < next; n++) end = Math.max(end, records.address[order[n]] + records.count[order[n]])
  const octets = new Uint8Array(end - address)
  let covered = 0
  for (let n = first; n < next; n++) {
    const record = order[n]
    const at = records.address[record] - address
    const from = records.offset[record]
    const data = records.octets.subarray(from, from + records.count[record])
    if (at < covered) {
      const repeated = Math.min(covered - at, data.length)
      const differs = firstDifference(octets, at, data, repeated)
      const list = differs === undefined ? warnings : errors
      if (list.length < MOST_REPORTED)
        list.push(
          repeatedOctets(records, order, n, address + at + (differs ?? 0), differs === undefined, into),
        )
    }
    octets.set(data, at)
    covered = Math.max(covered, at + data.length)
  }
  return { address, octets }
}

function firstDifference(
  octets: Uint8Array,
  at: number,
  data: Uint8Array,
  length: number,
): number | undefined {
  for (let i = 0; i < length; i++) if (octets[at + i] !== data[i]) return i
  return undefined
}

function repeatedOctets(
  records: DataRecords,
  order: Uint32Array,
  n: number,
  address: number,
  same: boolean,
  { file, wording }: { file: string; wording: RecordWording },
): Problem {
  const earlier = partThatHas(records, order, n, address)
  const where = { file, ...wording.place(records.line[order[n]]) }
  const also = earlier === undefined ? `an earlier ${wording.part}` : `${wording.part} ${earlier}`
  if (same)
    return {
      code: `${wording.format}.duplicate`,
      message: `The octets at ${sayAddress(address)} were already given by ${also}, with the same values.`,
      ...where,
    }
  return {
    code: `${wording.format}.conflict`,
    message: `The octet at ${sayAddress(address)} is given another value than by ${also}.`,
    ...where,
    expected: 'each address once',
    remedy: 'Two images may have been put into one file. Get the file again from where it came from.',
  }
}

/** Looks back among the records before place `n`; a record is at most 476 octets long, so the search ends soon. */
function partThatHas(
  records: DataRecords,
  order: Uint32Array,
  n: number,
  address: number,
): number | undefined {
  for (let back = n - 1; back >= 0 && records.address[order[back]] + LONGEST_RECORD > address; back--) {
    const record = order[back]
    if (records.address[record] <= address && address < records.address[record] + records.count[record])
      return records.line[record]
  }
  return undefined
}

const tooScattered = (file: string, { format }: RecordWording): Problem => ({
  code: `${format}.scattered`,
  message: `The file consists of more than ${MOST_SEGMENTS} separate pieces.`,
  file,
  expected: 'an image in one piece or a few',
  remedy: 'Choose the image file itself; this looks like something else.',
})

/** What a record would write above the top of the 32-bit address space. */
export const beyondAddressSpace = (address: number, count: number): boolean => address + count > ADDRESS_SPACE
