import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { emptyRecord, type HexFault, type HexRecord, readHexLine } from './hex-line.ts'
import { assembleRecords, beyondAddressSpace, DataRecords } from './hex-records.ts'
import type { Segment } from './segments.ts'
import { characterCodes, eachLine } from './text-lines.ts'

/**
 * Reads Intel HEX after Intel's "Hexadecimal Object File Format Specification", revision A (1988): record types 00
 * to 05. A file without its end record is refused, because it may have been cut off on the way.
 */

export const MAX_HEX_FILE_BYTES = 16 * 1024 * 1024
/** An octet takes two characters, so no HEX file within the limit holds more than this. */
export const MAX_PAYLOAD_BYTES = MAX_HEX_FILE_BYTES / 2
const MOST_REPORTED = 20

export interface HexImage {
  /** In rising order of address, touching ones joined. */
  readonly segments: readonly Segment[]
  /** Type 05: where the program starts. */
  readonly startLinear?: number
  /** Type 03: the same for segmented addresses. */
  readonly startSegment?: { readonly cs: number; readonly ip: number }
  /** Records of all types. */
  readonly records: number
}

/**
 * @param text the whole file; line ends may be CR LF, LF or CR
 * @returns the image, or up to 20 problems with code, line, expectation and remedy. Codes: `hex.too-large`,
 * `hex.start`, `hex.character`, `hex.odd`, `hex.short`, `hex.length`, `hex.checksum`, `hex.type`,
 * `hex.record-length`, `hex.after-end`, `hex.no-end`, `hex.address`, `hex.conflict`, `hex.scattered`,
 * `hex.empty`, `hex.more`. Warnings: `hex.duplicate`, `hex.wrap`, `hex.start-twice`.
 */
export function readIntelHex(text: string | Uint8Array, fileName: string): Result<HexImage> {
  if (text.length > MAX_HEX_FILE_BYTES)
    return failed({
      code: 'hex.too-large',
      message: 'The file is too large to be an image.',
      file: fileName,
      expected: `at most ${MAX_HEX_FILE_BYTES} bytes`,
      remedy: 'Choose the image file itself.',
    })
  return new HexReader(typeof text === 'string' ? characterCodes(text) : text, fileName).read()
}

class HexReader {
  private readonly text: Uint8Array
  private readonly file: string
  private readonly record: HexRecord = emptyRecord()
  private readonly data: DataRecords
  private readonly errors: Problem[] = []
  private readonly warnings: Problem[] = []
  private base = 0
  /** After a type 02 record addresses wrap around inside 64 KiB; otherwise they run on. */
  private segmented = false
  private ended = false
  private records = 0
  private line = 0
  private startLinear: number | undefined
  private startSegment: { cs: number; ip: number } | undefined

  constructor(text: Uint8Array, file: string) {
    this.text = text
    this.file = file
    // A record of one octet is 13 characters and a line end; an octet is two characters.
    this.data = new DataRecords(text.length / 14, text.length / 2)
  }

  read(): Result<HexImage> {
    this.readLines()
    if (!this.ended && this.errors.length === 0)
      this.fault({
        code: 'hex.no-end',
        message: 'The end record is missing, so the file may have been cut off.',
        expected: ':00000001FF as the last line',
        remedy: 'Get the file again from where it came from.',
      })
    if (this.errors.length > 0) return failed(...this.errors)
    if (this.data.length === 0) {
      this.fault({
        code: 'hex.empty',
        message: 'The file holds no data at all.',
        remedy: 'Choose another image file.',
      })
      return failed(...this.errors)
    }
    const { segments, errors, warnings } = assembleRecords(this.data, this.file)
    if (errors.length > 0) return failed(...errors)
    const { startLinear, startSegment, records } = this
    return succeeded({ segments, startLinear, startSegment, records }, [...this.warnings, ...warnings])
  }

  private readLines(): void {
    this.line = eachLine(this.text, (from, to, line) => {
      this.line = line
      this.takeLine(from, to)
      if (this.errors.length < MOST_REPORTED) return true
      this.fault({ code: 'hex.more', message: 'There may be more mistakes after this line.' })
      return false
    })
  }

  private takeLine(from: number, to: number): void {
    if (this.ended) {
      this.fault({
        code: 'hex.after-end',
        message: 'There is something after the end record.',
        expected: 'nothing after :00000001FF',
        remedy: 'Two files may have been put into one. Get the file again from where it came from.',
      })
      return
    }
    const fault = readHexLine(this.text, from, to, this.record)
    if (fault !== undefined) {
      this.fault(fault)
      return
    }
    this.records++
    this.takeRecord()
  }

  private takeRecord(): void {
    const { type, data, count } = this.record
    const word = (data[0] << 8) | data[1]
    if (type === 0 && count > 0) this.takeData()
    else if (type === 1) this.ended = true
    else if (type === 2 || type === 4) {
      this.segmented = type === 2
      this.base = type === 2 ? word * 16 : word * 65_536
    } else if (type === 3) {
      this.warnIfSecond(this.startSegment)
      this.startSegment = { cs: word, ip: (data[2] << 8) | data[3] }
    } else if (type === 5) {
      this.warnIfSecond(this.startLinear)
      this.startLinear = word * 65_536 + ((data[2] << 8) | data[3])
    }
  }

  /**
   * Linear addresses run on over a 64 KiB boundary; in a segment the address wraps to the segment's start
   * ([DRLO + DRI] MOD 64K in the specification). At the top of 4 GiB we refuse, where the specification wraps.
   */
  private takeData(): void {
    const { data, count, offset } = this.record
    if (!this.segmented && beyondAddressSpace(this.base + offset, count)) {
      this.fault({
        code: 'hex.address',
        message: 'The data of this line reaches beyond the highest address there is.',
        expected: 'addresses up to 0xFFFFFFFF',
        remedy: 'Get the file again from where it came from.',
      })
      return
    }
    const whole = this.segmented ? Math.min(count, 65_536 - offset) : count
    this.data.add(this.base + offset, data, 0, whole, this.line)
    if (whole === count) return
    this.data.add(this.base, data, whole, count, this.line)
    this.warn({
      code: 'hex.wrap',
      message:
        'The data of this line runs over the end of its segment and goes on at the segment’s beginning.',
      remedy: 'Intel HEX allows that, but it is rare: make sure that this is the right file.',
    })
  }

  private warnIfSecond(before: unknown): void {
    if (before !== undefined)
      this.warn({
        code: 'hex.start-twice',
        message: 'The start address is given a second time; this one counts.',
      })
  }

  private warn(fault: HexFault): void {
    if (this.warnings.length < MOST_REPORTED)
      this.warnings.push({ ...fault, file: this.file, line: this.line })
  }

  private fault(fault: HexFault): void {
    this.errors.push({ ...fault, file: this.file, line: Math.max(this.line, 1) })
  }
}
