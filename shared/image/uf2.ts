import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { assembleRecords, DataRecords, type RecordWording } from './hex-records.ts'
import type { Segment } from './segments.ts'
import {
  isUf2Block,
  readUf2Block,
  UF2_BLOCK_BYTES,
  UF2_FLAGS,
  UF2_MOST_PAYLOAD,
  type Uf2Block,
  type Uf2Fault,
} from './uf2-block.ts'
import { checkUf2Blocks, forFlash, type PlacedBlock, whatTagsSay } from './uf2-contents.ts'

/**
 * Reads UF2 after the README of the Microsoft UF2 specification. Blocks may come in any order and twice; a block of
 * another family than the chosen one is left aside whole, its numbering too. Nothing is allocated by a number that
 * the file states.
 */

export const MAX_UF2_FILE_BYTES = 16 * 1024 * 1024
const MOST_REPORTED = 20
const MOST_NAMED = 5
const blockField = (ordinal: number): Pick<Problem, 'field'> => ({ field: `block ${ordinal}` })
const WORDING: RecordWording = { format: 'uf2', part: 'block', place: blockField }
const again = 'The file was damaged or cut off. Get it again from where it came from.'

export interface Uf2Image {
  /** In rising order of address, touching ones joined; of the chosen family alone. */
  readonly segments: readonly Segment[]
  /** Undefined where the blocks name none. */
  readonly familyId: number | undefined
  /** Every family that has data for the flash; undefined stands for blocks that name none. */
  readonly families: readonly (number | undefined)[]
  readonly blocks: number
  /** Blocks that are not for the flash. */
  readonly comments: number
  /** From extension tags. */
  readonly version?: string
  readonly device?: string
  readonly pageBytes?: number
}

export interface Uf2Options {
  /** Which family's image to take from a file with several, 0..0xffffffff. */
  readonly familyId?: number
}

/** A family as people write it: 0x and eight digits. */
export const sayFamily = (familyId: number | undefined): string =>
  familyId === undefined ? 'none' : `0x${familyId.toString(16).toUpperCase().padStart(8, '0')}`

/**
 * @param octets the whole file, at most 16 MiB
 * @returns the image, or up to 20 problems whose field names the block, counted from 1. Codes: `uf2.too-large`,
 * `.cut-off`, `.magic`, `.payload`, `.number`, `.address`, `.tags`, `.container`, `.total`, `.repeated`, `.missing`,
 * `.families`, `.family`, `.conflict`, `.scattered`, `.md5`, `.empty`, `.more`. Warnings: `uf2.again`,
 * `uf2.alignment`, `uf2.duplicate`, `uf2.md5-unchecked`.
 */
export function readUf2(octets: Uint8Array, fileName: string, options: Uf2Options = {}): Result<Uf2Image> {
  if (octets.length > MAX_UF2_FILE_BYTES)
    return failed({
      code: 'uf2.too-large',
      message: 'The file is too large to be an image.',
      file: fileName,
      expected: `at most ${MAX_UF2_FILE_BYTES} bytes`,
      remedy: 'Choose the image file itself.',
    })
  return new Uf2Reader(octets, fileName).read(options.familyId)
}

/** The blocks of one family. */
interface Family {
  readonly id: number | undefined
  readonly total: number
  /** Ordinal in the file of each block number seen. */
  readonly ordinals: Map<number, number>
  readonly blocks: PlacedBlock[]
}

class Uf2Reader {
  private readonly octets: Uint8Array
  private readonly file: string
  private readonly errors: Problem[] = []
  private readonly warnings: Problem[] = []
  private readonly families = new Map<number | undefined, Family>()

  constructor(octets: Uint8Array, file: string) {
    this.octets = octets
    this.file = file
  }

  read(familyId: number | undefined): Result<Uf2Image> {
    this.readBlocks()
    if (this.errors.length > 0) return failed(...this.errors)
    const family = this.choose(familyId)
    if (family !== undefined) this.checkComplete(family)
    if (family === undefined || this.errors.length > 0) return failed(...this.errors)
    const data = new DataRecords(family.blocks.length, family.blocks.length * UF2_MOST_PAYLOAD)
    for (const { block, ordinal } of family.blocks)
      if (forFlash(block) && block.payload.length > 0)
        data.add(block.address, block.payload, 0, block.payload.length, ordinal)
    const { segments, errors, warnings } = assembleRecords(data, this.file, WORDING)
    if (errors.length > 0) return failed(...errors)
    checkUf2Blocks(family.blocks, segments, {
      fault: (fault, ordinal) => this.fault(fault, ordinal),
      warn: (fault, ordinal) => this.warn(fault, ordinal),
    })
    if (this.errors.length > 0) return failed(...this.errors)
    return succeeded(
      {
        segments,
        familyId: family.id,
        families: this.withData().map(f => f.id),
        blocks: family.blocks.length,
        comments: family.blocks.filter(({ block }) => !forFlash(block)).length,
        ...whatTagsSay(family.blocks),
      },
      [...this.warnings, ...warnings],
    )
  }

  private readBlocks(): void {
    const whole = Math.floor(this.octets.length / UF2_BLOCK_BYTES)
    for (let n = 0; n < whole; n++) {
      const read = readUf2Block(this.octets, n * UF2_BLOCK_BYTES)
      if (isUf2Block(read)) this.takeBlock(read, n + 1)
      else this.fault(read, n + 1)
      if (this.errors.length < MOST_REPORTED) continue
      this.fault({ code: 'uf2.more', message: 'There may be more mistakes after this block.' }, n + 1)
      return
    }
    const rest = this.octets.length - whole * UF2_BLOCK_BYTES
    if (rest > 0)
      this.fault(
        {
          code: 'uf2.cut-off',
          message: `The last block has only ${rest} octets.`,
          expected: `${UF2_BLOCK_BYTES} octets`,
          remedy: again,
        },
        whole + 1,
      )
  }

  private takeBlock(block: Uf2Block, ordinal: number): void {
    if ((block.flags & UF2_FLAGS.fileContainer) !== 0) {
      this.fault(
        {
          code: 'uf2.container',
          message: 'The block holds part of a file for a file system, not of an image for the flash.',
          expected: 'an image',
          remedy: 'See whether the image is also there by itself.',
        },
        ordinal,
      )
      return
    }
    let family = this.families.get(block.familyId)
    if (family === undefined) {
      family = { id: block.familyId, total: block.total, ordinals: new Map(), blocks: [] }
      this.families.set(block.familyId, family)
    }
    if (block.total !== family.total)
      this.fault(
        {
          code: 'uf2.total',
          message: `The block says that there are ${block.total} blocks, and the ones before it say ${family.total}.`,
          expected: `${family.total}`,
          remedy: 'Two files may have been put into one. Get the file again from where it came from.',
        },
        ordinal,
      )
    else if (this.isNew(family, block, ordinal)) family.blocks.push({ ordinal, block })
  }

  private isNew(family: Family, { number }: Uf2Block, ordinal: number): boolean {
    const before = family.ordinals.get(number)
    if (before === undefined) {
      family.ordinals.set(number, ordinal)
      return true
    }
    if (this.sameBlock(before, ordinal))
      this.warn(
        { code: 'uf2.again', message: `The block is there twice: it is the same as block ${before}.` },
        ordinal,
      )
    else
      this.fault(
        {
          code: 'uf2.repeated',
          message: `The block has the number ${number}, as block ${before} has, but differs from it.`,
          expected: 'each number once',
          remedy: again,
        },
        ordinal,
      )
    return false
  }

  private sameBlock(a: number, b: number): boolean {
    const from = (a - 1) * UF2_BLOCK_BYTES
    const other = (b - 1) * UF2_BLOCK_BYTES
    for (let i = 0; i < UF2_BLOCK_BYTES; i++)
      if (this.octets[from + i] !== this.octets[other + i]) return false
    return true
  }

  private withData(): Family[] {
    return [...this.families.values()].filter(f =>
      f.blocks.some(({ block }) => forFlash(block) && block.payload.length > 0),
    )
  }

  private choose(familyId: number | undefined): Family | undefined {
    const all = this.withData()
    const some = familyId === undefined ? all : all.filter(f => f.id === familyId)
    if (some.length === 1) return some[0]
    const names = all.slice(0, MOST_NAMED).map(f => sayFamily(f.id))
    if (all.length > names.length) names.push('…')
    const list = names.join(', ')
    if (all.length === 0)
      this.errors.push({
        code: 'uf2.empty',
        message: 'The file holds nothing for the flash.',
        file: this.file,
        remedy: 'Choose another image file.',
      })
    else if (some.length === 0)
      this.errors.push({
        code: 'uf2.family',
        message: `There is no image for the family ${sayFamily(familyId)} in this file.`,
        file: this.file,
        expected: list,
        remedy: 'Choose one of these families, or another file.',
      })
    else
      this.errors.push({
        code: 'uf2.families',
        message: `The file holds images for ${all.length} families of controllers: ${list}.`,
        file: this.file,
        expected: 'one family',
        remedy: 'Say which family the receiver’s controller belongs to.',
      })
    return undefined
  }

  private checkComplete({ total, ordinals }: Family): void {
    if (ordinals.size === total) return
    const missing: number[] = []
    for (let n = 0; n < total && missing.length <= MOST_NAMED; n++) if (!ordinals.has(n)) missing.push(n)
    const named = missing.length > MOST_NAMED ? [...missing.slice(0, MOST_NAMED), '…'] : missing
    this.errors.push({
      code: 'uf2.missing',
      message: `${total - ordinals.size} of ${total} blocks are missing: number ${named.join(', ')} (counted from 0).`,
      file: this.file,
      ...blockField((missing[0] ?? 0) + 1),
      expected: `${total} blocks`,
      remedy: again,
    })
  }

  private warn(fault: Uf2Fault, ordinal: number): void {
    if (this.warnings.length < MOST_REPORTED)
      this.warnings.push({ ...fault, file: this.file, ...blockField(ordinal) })
  }

  private fault(fault: Uf2Fault, ordinal: number): void {
    this.errors.push({ ...fault, file: this.file, ...blockField(ordinal) })
  }
}
