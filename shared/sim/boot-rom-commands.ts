import {
  ACK,
  COMMAND,
  type CommandCode,
  ERASE_MOST_PAGES,
  EXTENDED_SPECIAL,
  HELLO,
  NACK,
  xorOf,
} from '../procedure/an3155.ts'
import { type AddressMap, pageAt, type Span, spansAt } from './address-map.ts'
import type { FlashRegion } from './flash.ts'

/** The commands of the loader in a chip's ROM (ST AN3155), as a program that wishes for octets and flash operations. */

/** The chip itself: what its ROM has, and the option bits that outlive a power cut. */
export interface BootRomChip {
  /** Product identifier, two octets. */
  readonly id: number
  /** 31 for version 3.1. */
  readonly version: number
  /** A chip has one of the two, never both. */
  readonly eraseCommand: typeof COMMAND.erase | typeof COMMAND.extendedErase
  /** Writes come in multiples of so many octets. */
  readonly writeMultiple: number
  readOutProtected: boolean
  readonly writeProtectedPages: Set<number>
}

export type Wish =
  | { readonly want: 'octets'; readonly count: number; readonly amidCommand: boolean }
  | { readonly want: 'answer'; readonly octets: Uint8Array }
  | { readonly want: 'erase'; readonly region: FlashRegion; readonly page: number }
  | {
      readonly want: 'program'
      readonly region: FlashRegion
      readonly offset: number
      readonly data: Uint8Array
    }

/** How the loader is left: a reset, or a jump to a program. */
export type Left = { readonly left: 'reset' } | { readonly left: 'go'; readonly address: number }
export type Work<R> = Generator<Wish, R, Uint8Array>

const ACCEPTED = Uint8Array.of(ACK)
const DECLINED = Uint8Array.of(NACK)
const WHEN_LOCKED: readonly number[] = [
  COMMAND.get,
  COMMAND.getVersion,
  COMMAND.getId,
  COMMAND.readOutUnprotect,
]

function* take(count: number, amidCommand = true): Work<Uint8Array> {
  return yield { want: 'octets', count, amidCommand }
}

function* answer(octets: Uint8Array): Work<undefined> {
  yield { want: 'answer', octets }
  return undefined
}

const decline = () => answer(DECLINED)
const accept = () => answer(ACCEPTED)

/** The commands that Get lists, in the order in which AN3155 does. */
export const commandsOf = (chip: BootRomChip): readonly CommandCode[] =>
  Object.values(COMMAND).filter(
    code => (code !== COMMAND.erase && code !== COMMAND.extendedErase) || code === chip.eraseCommand,
  )

/** @param after a reset, when the rate is measured by the first 7F, or a command that was given up */
export function* serve(chip: BootRomChip, map: AddressMap, after: 'reset' | 'giving-up'): Work<Left> {
  if (after === 'reset') yield* awaitHello()
  else yield* decline()
  const rom = new BootRom(chip, map)
  for (;;) {
    const [code, complement] = yield* take(2, false)
    const known = commandsOf(chip).find(c => c === code)
    const allowed = !chip.readOutProtected || WHEN_LOCKED.includes(code)
    if ((code ^ complement) !== 0xff || known === undefined || !allowed) {
      yield* decline()
      continue
    }
    const left = yield* rom.carryOut(known)
    if (left) return left
  }
}

/** Octets before the first 7F are passed over, as the flow chart of ST AN2606 has it. */
function* awaitHello(): Work<void> {
  for (;;) {
    const [octet] = yield* take(1, false)
    if (octet === HELLO) return yield* accept()
  }
}

class BootRom {
  private readonly chip: BootRomChip
  private readonly map: AddressMap

  constructor(chip: BootRomChip, map: AddressMap) {
    this.chip = chip
    this.map = map
  }

  carryOut(code: CommandCode): Work<Left | undefined> {
    const { chip } = this
    switch (code) {
      case COMMAND.get:
        return answer(counted([chip.version, ...commandsOf(chip)]))
      case COMMAND.getVersion:
        return answer(Uint8Array.of(ACK, chip.version, 0, 0, ACK))
      case COMMAND.getId:
        return answer(counted([chip.id >> 8, chip.id & 0xff]))
      case COMMAND.readMemory:
        return this.read()
      case COMMAND.go:
        return this.go()
      case COMMAND.writeMemory:
        return this.write()
      case COMMAND.erase:
      case COMMAND.extendedErase:
        return this.erase(code === COMMAND.erase ? 1 : 2)
      case COMMAND.writeProtect:
        return this.writeProtect()
      default:
        return this.changeProtection(code)
    }
  }

  /** @returns undefined where the checksum is wrong or nothing lies there; that has been answered */
  private *address(): Work<number | undefined> {
    yield* accept()
    const octets = yield* take(5)
    const address = ((octets[0] << 24) | (octets[1] << 16) | (octets[2] << 8) | octets[3]) >>> 0
    if (xorOf(octets) === 0 && spansAt(this.map, address, 1) !== undefined) {
      yield* accept()
      return address
    }
    return yield* decline()
  }

  private *read(): Work<undefined> {
    const address = yield* this.address()
    if (address === undefined) return
    const [count, complement] = yield* take(2)
    const spans = spansAt(this.map, address, count + 1)
    if ((count ^ complement) !== 0xff || spans === undefined) return yield* decline()
    const octets = new Uint8Array(count + 2)
    octets[0] = ACK
    let at = 1
    for (const { region, offset, bytes } of spans) {
      octets.set(region.octets.subarray(offset, offset + bytes), at)
      at += bytes
    }
    yield* answer(octets)
  }

  private *go(): Work<Left | undefined> {
    const address = yield* this.address()
    return address === undefined ? undefined : { left: 'go', address }
  }

  private *write(): Work<undefined> {
    const address = yield* this.address()
    if (address === undefined) return
    const [count] = yield* take(1)
    const rest = yield* take(count + 2)
    const spans = spansAt(this.map, address, count + 1)
    const { writeMultiple } = this.chip
    const whole = (count + 1) % writeMultiple === 0 && (address - this.map.address) % writeMultiple === 0
    if ((count ^ xorOf(rest)) !== 0 || !whole || spans === undefined) return yield* decline()
    let from = 0
    for (const span of spans) {
      yield* this.program(span, rest.subarray(from, from + span.bytes))
      from += span.bytes
    }
    yield* accept()
  }

  /**
   * Words that are not erased, or lie in protected pages, stay as they are and nothing is said about it: that is for
   * the host to find when it reads back.
   */
  private *program({ region, offset }: Span, data: Uint8Array): Work<void> {
    const word = this.chip.writeMultiple
    const writable = (at: number) =>
      !this.isProtected(region, Math.floor((offset + at) / region.pageBytes)) &&
      region.octets.subarray(offset + at, offset + at + word).every(octet => octet === 0xff)
    for (let from = 0; from < data.length; ) {
      let to = from
      while (to < data.length && writable(to)) to += word
      if (to > from) yield { want: 'program', region, offset: offset + from, data: data.slice(from, to) }
      from = to + word
    }
  }

  private isProtected(region: FlashRegion, page: number): boolean {
    const place = this.map.placed.find(p => p.region === region)
    return place !== undefined && this.chip.writeProtectedPages.has(place.firstPage + page)
  }

  /** @param width octets of a count or page number: 1 in Erase, 2 in Extended Erase */
  private *erase(width: 1 | 2): Work<undefined> {
    yield* accept()
    const head = yield* take(width)
    const count = numberAt(head, 0, width)
    const all = width === 1 ? 0xff : EXTENDED_SPECIAL.all
    const special = width === 1 ? count === all : count >= EXTENDED_SPECIAL.least
    const rest = yield* take(special ? 1 : (count + 1) * width + 1)
    // Erase of everything ends in the complement of its one octet, all other forms in the XOR of what came before.
    const proof = special && width === 1 ? count ^ 0xff : xorOf(head)
    if (xorOf(rest) !== proof) return yield* decline()
    const pages = special ? this.allPages(count) : listOf(rest, count + 1, width)
    if (pages.length === 0 || pages.some(page => page >= this.map.pages)) return yield* decline()
    yield* this.erasePages(pages)
    yield* accept()
  }

  /** @returns none for a code that this chip does not know; it has one bank, so the first is all there is */
  private allPages(code: number): number[] {
    const known = code === 0xff || code === EXTENDED_SPECIAL.all || code === EXTENDED_SPECIAL.bank1
    return known ? Array.from({ length: this.map.pages }, (_, page) => page) : []
  }

  private *erasePages(pages: readonly number[]): Work<void> {
    for (const page of pages) {
      const there = pageAt(this.map, page)
      if (there && !this.chip.writeProtectedPages.has(page)) yield { want: 'erase', ...there }
    }
  }

  private *writeProtect(): Work<Left | undefined> {
    yield* accept()
    const head = yield* take(1)
    const rest = yield* take(head[0] + 2)
    const pages = rest.subarray(0, -1)
    if (xorOf(head) !== xorOf(rest) || pages.some(page => page >= this.map.pages)) return yield* decline()
    for (const page of pages) this.chip.writeProtectedPages.add(page)
    yield* accept()
    return { left: 'reset' }
  }

  /** Lifting the read-out protection costs everything that the chip holds. */
  private *changeProtection(code: CommandCode): Work<Left> {
    const { chip } = this
    yield* accept()
    if (code === COMMAND.readOutProtect) chip.readOutProtected = true
    else chip.writeProtectedPages.clear()
    if (code === COMMAND.readOutUnprotect) {
      yield* this.erasePages(this.allPages(EXTENDED_SPECIAL.all))
      chip.readOutProtected = false
    }
    yield* accept()
    return { left: 'reset' }
  }
}

/** ACK, the count less one, the octets, ACK. */
const counted = (octets: readonly number[]) => Uint8Array.of(ACK, octets.length - 1, ...octets, ACK)

const listOf = (octets: Uint8Array, count: number, width: 1 | 2): number[] =>
  Array.from({ length: count }, (_, i) => numberAt(octets, i * width, width))

const numberAt = (octets: Uint8Array, at: number, width: 1 | 2): number =>
  width === 1 ? octets[at] : (octets[at] << 8) | octets[at + 1]

/** The chip that a receiver of so many pages is taken to have: Extended Erase where one octet cannot number them. */
export const chipFor = (pages: number, wordBytes: number): BootRomChip => ({
  id: 0x0410,
  version: 0x31,
  eraseCommand: pages > ERASE_MOST_PAGES ? COMMAND.extendedErase : COMMAND.erase,
  writeMultiple: wordBytes,
  readOutProtected: false,
  writeProtectedPages: new Set(),
})
