import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { assembleRecords, beyondAddressSpace, DataRecords, type RecordWording } from './hex-records.ts'
import { MAX_HEX_FILE_BYTES } from './intel-hex.ts'
import { emptySRecord, readSRecordLine, type SRecord, type SRecordFault } from './s-record-line.ts'
import type { Segment } from './segments.ts'
import { characterCodes, eachLine } from './text-lines.ts'

/**
 * Reads Motorola S-records after the appendix of the M68000 family reference: S0 header, S1 to S3 data with 16, 24
 * and 32 bits of address, S5 and S6 count, S7 to S9 end with the start address. A file that ends with neither an end
 * record nor the count of its data records is refused, because it may have been cut off on the way; srecord's
 * srec_cat leaves the end record out where no start address is known.
 */

const MOST_REPORTED = 20
const WORDING: RecordWording = { format: 's-record', part: 'line', place: line => ({ line }) }

export interface SRecordImage {
  /** In rising order of address, touching ones joined. */
  readonly segments: readonly Segment[]
  /** The printable characters of the S0 record, up to 252; empty where there are none. */
  readonly header: string
  /** From the end record, 0 where there is none. Many tools write 0 where they know none. */
  readonly startAddress: number
  /** Records of all types. */
  readonly records: number
}

/**
 * @param text the whole file, at most 16 MiB; line ends may be CR LF, LF or CR
 * @returns the image, or up to 20 problems with code, line, expectation and remedy. Codes: `s-record.too-large`,
 * `.start`, `.type`, `.character`, `.odd`, `.short`, `.length`, `.checksum`, `.record-length`, `.count`,
 * `.after-end`, `.no-end`, `.header`, `.address`, `.conflict`, `.scattered`, `.empty`, `.more`. Warnings:
 * `s-record.duplicate`, `.end-type`, `.header-twice`, `.mixed`.
 */
export function readSRecords(text: string | Uint8Array, fileName: string): Result<SRecordImage> {
  if (text.length > MAX_HEX_FILE_BYTES)
    return failed({
      code: 's-record.too-large',
      message: 'The file is too large to be an image.',
      file: fileName,
      expected: `at most ${MAX_HEX_FILE_BYTES} bytes`,
      remedy: 'Choose the image file itself.',
    })
  return new SRecordReader(typeof text === 'string' ? characterCodes(text) : text, fileName).read()
}

class SRecordReader {
  private readonly text: Uint8Array
  private readonly file: string
  private readonly record: SRecord = emptySRecord()
  private readonly data: DataRecords
  private readonly errors: Problem[] = []
  private readonly warnings: Problem[] = []
  private header = ''
  private startAddress: number | undefined
  /** The last record was the count of the data records, and right. */
  private counted = false
  private dataRecords = 0
  /** The widest type of data record so far, 1 to 3. */
  private widest = 0
  /** Of the data record before, 0 for none. */
  private previousType = 0
  private records = 0
  private line = 0

  constructor(text: Uint8Array, file: string) {
    this.text = text
    this.file = file
    // An S1 record of one octet is 12 characters and a line end; an octet is two characters.
    this.data = new DataRecords(text.length / 13, text.length / 2)
  }

  read(): Result<SRecordImage> {
    this.line = eachLine(this.text, (from, to, line) => {
      this.line = line
      this.takeLine(from, to)
      if (this.errors.length < MOST_REPORTED) return true
      this.fault({ code: 's-record.more', message: 'There may be more mistakes after this line.' })
      return false
    })
    if (this.startAddress === undefined && !this.counted && this.errors.length === 0)
      this.fault({
        code: 's-record.no-end',
        message: 'The end record is missing, so the file may have been cut off.',
        expected: 'a last line that begins with S7, S8 or S9, or the count of lines (S5)',
        remedy: 'Get the file again from where it came from.',
      })
    if (this.errors.length === 0 && this.data.length === 0)
      this.fault({
        code: 's-record.empty',
        message: 'The file holds no data at all.',
        remedy: 'Choose another image file.',
      })
    if (this.errors.length > 0) return failed(...this.errors)
    const { segments, errors, warnings } = assembleRecords(this.data, this.file, WORDING)
    if (errors.length > 0) return failed(...errors)
    const { header, startAddress = 0, records } = this
    return succeeded({ segments, header, startAddress, records }, [...this.warnings, ...warnings])
  }

  private takeLine(from: number, to: number): void {
    if (this.startAddress !== undefined) {
      this.fault({
        code: 's-record.after-end',
        message: 'There is something after the end record.',
        expected: 'nothing after the line that begins with S7, S8 or S9',
        remedy: 'Two files may have been put into one. Get the file again from where it came from.',
      })
      return
    }
    const fault = readSRecordLine(this.text, from, to, this.record)
    if (fault !== undefined) {
      this.fault(fault)
      return
    }
    this.records++
    this.counted = false
    const { type } = this.record
    if (type === 0) this.takeHeader()
    else if (type <= 3) this.takeData()
    else if (type <= 6) this.checkCount()
    else this.takeEnd()
  }

  private takeData(): void {
    const { type, address, count, data } = this.record
    this.dataRecords++
    this.warnIfMixed(type, address)
    if (beyondAddressSpace(address, count))
      this.fault({
        code: 's-record.address',
        message: 'The data of this line reaches beyond the highest address there is.',
        expected: 'addresses up to 0xFFFFFFFF',
        remedy: 'Get the file again from where it came from.',
      })
    else if (count > 0) this.data.add(address, data, 0, count, this.line)
  }

  private takeHeader(): void {
    if (this.dataRecords > 0)
      this.fault({
        code: 's-record.header',
        message: 'The line is a header (S0), which may stand only before the data.',
        expected: 'S1, S2 or S3',
        remedy: 'The file was damaged or changed. Get it again from where it came from.',
      })
    else if (this.records > 1)
      this.warn({ code: 's-record.header-twice', message: 'The file has a second header (S0).' })
    this.header ||= printable(this.record)
  }

  /**
   * The checksum does not cover the type, so a damaged type moves a record. Writers use one width throughout, or the
   * fewest octets that each address needs.
   */
  private warnIfMixed(type: number, address: number): void {
    const before = this.previousType
    this.previousType = type
    this.widest = Math.max(this.widest, type)
    if (before === 0 || before === type || (type > before && address >= 256 ** (before + 1))) return
    this.warn({
      code: 's-record.mixed',
      message: `The line is of the type S${type}, and the data before it S${before}; its address may be wrong.`,
      expected: `S${before}`,
      remedy: 'Compare with the digest that the maker states, or get the file again.',
    })
  }

  /** After a damaged line the count would only say again that something is missing. */
  private checkCount(): void {
    const { address: stated } = this.record
    this.counted = stated === this.dataRecords
    if (this.counted || this.errors.length > 0) return
    this.fault({
      code: 's-record.count',
      message: `The file says that it has ${stated} lines of data, but ${this.dataRecords} came before this line.`,
      expected: `${stated} lines that begin with S1, S2 or S3`,
      remedy: 'Lines were lost or added. Get the file again from where it came from.',
    })
  }

  private takeEnd(): void {
    const { type, address } = this.record
    this.startAddress = address
    if (this.widest === 0 || type === 10 - this.widest) return
    this.warn({
      code: 's-record.end-type',
      message: `The file ends with S${type}, though its data lines are S${this.widest}.`,
      expected: `S${10 - this.widest}`,
      remedy: 'Some programs write it so; make sure that the file is complete.',
    })
  }

  private warn(fault: SRecordFault): void {
    if (this.warnings.length < MOST_REPORTED)
      this.warnings.push({ ...fault, file: this.file, line: this.line })
  }

  private fault(fault: SRecordFault): void {
    this.errors.push({ ...fault, file: this.file, line: Math.max(this.line, 1) })
  }
}

function printable({ data, count }: SRecord): string {
  let text = ''
  for (let i = 0; i < count; i++) if (data[i] >= 0x20 && data[i] < 0x7f) text += String.fromCharCode(data[i])
  return text.trim()
}
