import type { Check } from './checksums.ts'

/** What is known while steps are carried out: where the writing stands, and what answers have held. */

export interface Captured {
  /** As a number, most significant octet first unless the part said other; of long captures the last four octets. */
  readonly value: number
  readonly octets: Uint8Array
}

const NOTHING = new Uint8Array(0)
const MOST_NAME = 64

export class Context {
  address = 0
  offset = 0
  block = 0
  length = 0
  page = 0
  pageCount = 0
  blockCount = 0
  imageAddress = 0
  startAddress = 0
  /** The octets of the block, padding included. */
  data: Uint8Array = NOTHING
  pages: readonly number[] = []
  /** What the last read gave. */
  received: Uint8Array = NOTHING
  readonly image: Uint8Array
  readonly fileName: string
  readonly captures = new Map<string, Captured>()
  private readonly checks = new Map<Check, number>()

  constructor(image: Uint8Array = NOTHING, fileName = '') {
    this.image = image
    this.fileName = plainName(fileName)
  }

  imageCheck(check: Check): number {
    let value = this.checks.get(check)
    if (value === undefined) {
      value = check.of(this.image)
      this.checks.set(check, value)
    }
    return value
  }

  /** @returns the number that a source names; NaN where nothing has been captured under its name */
  number(source: string, check?: Check): number {
    switch (source) {
      case 'address':
        return this.address
      case 'offset':
        return this.offset
      case 'block':
        return this.block
      case 'length':
        return this.length
      case 'page':
        return this.page
      case 'pageCount':
        return this.pageCount
      case 'blockCount':
        return this.blockCount
      case 'imageLength':
        return this.image.length
      case 'imageAddress':
        return this.imageAddress
      case 'startAddress':
        return this.startAddress
      case 'imageCheck':
        return check === undefined ? Number.NaN : this.imageCheck(check)
      default:
        return this.captures.get(source.slice('capture:'.length))?.value ?? Number.NaN
    }
  }
}

/** The last part of a path, in printable ASCII, so that no receiver stumbles over it. */
function plainName(fileName: string): string {
  const last = fileName.split(/[/\\]/).at(-1) ?? ''
  return last.replace(/[^\x20-\x7e]/g, '_').slice(0, MOST_NAME) || 'image'
}

export function numberOf(octets: Uint8Array, order: 'big' | 'little' = 'big'): number {
  let value = 0
  if (order === 'big') for (let i = 0; i < octets.length; i++) value = (value << 8) | octets[i]
  else for (let i = octets.length - 1; i >= 0; i--) value = (value << 8) | octets[i]
  return value >>> 0
}

/** Puts the low `size` octets of a number. */
export function putNumber(
  out: Uint8Array,
  at: number,
  value: number,
  size: number,
  order: 'big' | 'little',
): void {
  for (let i = 0; i < size; i++) out[order === 'big' ? at + size - 1 - i : at + i] = value >>> (8 * i)
}

const MOD = [1, 0x100, 0x1_0000, 0x100_0000, 0x1_0000_0000]

/** A number as a part says it: in units, with an addition, complemented, cut to its size. */
export function saidAs(
  value: number,
  part: { readonly size: number; readonly plus: number; readonly unit: number; readonly complement: boolean },
): number {
  const said = (part.unit === 1 ? value : Math.floor(value / part.unit)) + part.plus
  const cut = said - Math.floor(said / MOD[part.size]) * MOD[part.size]
  return part.complement ? MOD[part.size] - 1 - cut : cut
}

/** The other way: which number it was. Whatever the cut took away is gone. */
export function meantBy(
  said: number,
  part: { readonly size: number; readonly plus: number; readonly unit: number; readonly complement: boolean },
): number {
  const cut = part.complement ? MOD[part.size] - 1 - said : said
  return (cut - part.plus) * part.unit
}
