import type { Check } from './checksums.ts'
import type { DeviceFault } from './device-faults.ts'
import type { DeviceMemory } from './device-memory.ts'
import type { SectionId } from './device-program.ts'
import type { Bound } from './match.ts'
import type { Dialect } from './schema.ts'
import type { Meaning } from './schema-steps.ts'

/** What an emulated receiver does with what it was told: its flash, and its word on it. */

export interface Done {
  readonly means: Meaning
  readonly workNs: number
  /** The very block that it has already: said yes to, and not written again. */
  readonly again?: boolean
}

export interface WorkTimes {
  readonly eraseNsPerPage: number
  readonly programNsPerOctet: number
}

/** Numbers that hold for the whole session and not for one request. */
const OF_SESSION = ['imageLength', 'imageCheck', 'imageAddress', 'startAddress'] as const

export class DeviceWork {
  /** Different blocks taken so far. */
  blocks = 0
  fileName: string | undefined
  readonly session = new Map<string, number>()
  private readonly dialect: Dialect
  private readonly memory: DeviceMemory
  private readonly checks: ReadonlyMap<string, Check>
  private readonly times: WorkTimes
  fault: DeviceFault | undefined
  private next = 0
  private pointer = 0
  private erased = false

  constructor(
    dialect: Dialect,
    memory: DeviceMemory,
    checks: ReadonlyMap<string, Check>,
    times: WorkTimes,
    fault: DeviceFault | undefined,
  ) {
    this.checks = checks
    this.dialect = dialect
    this.memory = memory
    this.times = times
    this.fault = fault
    this.begin()
  }

  /** A new session: blocks are counted from the start again. */
  begin(): void {
    this.blocks = 0
    this.next = this.dialect.block.firstNumber
    this.pointer = 0
    this.erased = false
  }

  do(section: SectionId, bound: Bound): Done {
    for (const name of OF_SESSION) {
      const value = bound.numbers.get(name)
      if (value !== undefined) this.session.set(name, value)
    }
    if (bound.fileName !== undefined) this.fileName = bound.fileName
    switch (section) {
      case 'erase':
        return this.erase(bound)
      case 'before':
        this.begin()
        return yes(0)
      case 'block':
        return this.block(bound)
      case 'after':
        return this.matchesStated(bound) ? yes(0) : { means: 'refused', workNs: 0 }
      case 'read':
        return this.readable(bound) ? yes(0) : { means: 'refused', workNs: 0 }
      default:
        return yes(0)
    }
  }

  private erase({ pages, numbers }: Bound): Done {
    this.begin()
    this.erased = true
    const first = numbers.get('page')
    const count = numbers.get('pageCount') ?? 1
    const named =
      pages ??
      (first === undefined ? undefined : Array.from({ length: Math.min(count, 255) }, (_, i) => first + i))
    if (this.dialect.erase?.per === 'all' || named === undefined) {
      this.memory.eraseAll()
      return yes(this.times.eraseNsPerPage)
    }
    for (const page of named) if (!this.memory.erasePage(page)) return { means: 'refused', workNs: 0 }
    return yes(named.length * this.times.eraseNsPerPage)
  }

  private block(bound: Bound): Done {
    const { data, numbers, blockSize } = bound
    if (data === undefined) return yes(0)
    const number = numbers.get('block')
    const round = (n: number) => n - Math.floor(n / 256 ** blockSize) * 256 ** blockSize
    if (number !== undefined && number !== round(this.next)) {
      const same = this.blocks > 0 && number === round(this.next - 1)
      return same ? { means: 'ok', workNs: 0, again: true } : { means: 'stop', workNs: 0 }
    }
    const offset = this.offsetOf(numbers)
    if (!this.memory.has(offset, data.length)) return { means: 'refused', workNs: 0 }
    this.writeAt(offset, data)
    this.next++
    this.blocks++
    this.pointer = offset + data.length
    return yes(data.length * this.times.programNsPerOctet)
  }

  private offsetOf(numbers: ReadonlyMap<string, number>): number {
    const address = numbers.get('address')
    if (address !== undefined) return address - this.memory.base
    return numbers.get('offset') ?? this.pointer
  }

  private writeAt(offset: number, data: Uint8Array): void {
    // A dialect without erase steps leaves it to the receiver to erase before the first block.
    if (this.dialect.erase === undefined && !this.erased) {
      this.memory.eraseAll()
      this.erased = true
    }
    const nth = this.blocks + 1
    const { fault } = this
    if (fault?.kind === 'cut' && fault.block === nth)
      return this.memory.write(offset, data.subarray(0, data.length >> 1))
    this.memory.write(offset, data)
    if (fault?.kind === 'verify-differs' && nth === 1 && data.length > 0) this.memory.octets[offset] ^= 0x01
  }

  private readable({ numbers }: Bound): boolean {
    const { offset, count } = this.asked(numbers)
    return this.memory.has(offset, count) && count <= 8192
  }

  private asked(numbers: ReadonlyMap<string, number>): { offset: number; count: number } {
    const address = numbers.get('address')
    const offset = address === undefined ? (numbers.get('offset') ?? 0) : address - this.memory.base
    return { offset, count: numbers.get('length') ?? this.dialect.read?.octets ?? 0 }
  }

  readData({ numbers }: Bound): Uint8Array {
    const { offset, count } = this.asked(numbers)
    return this.memory.read(offset, count)
  }

  /** A check over as much of the memory as the image was said to be long. */
  memoryCheck(check: Check): number {
    const from = Math.max(0, (this.session.get('imageAddress') ?? this.memory.base) - this.memory.base)
    const length = Math.min(this.session.get('imageLength') ?? this.pointer, this.memory.octets.length - from)
    return check.of(this.memory.octets, from, from + Math.max(0, length))
  }

  /** Where the dialect states a check over the image, what it holds has to give the same. */
  private matchesStated({ numbers }: Bound): boolean {
    const stated = numbers.get('imageCheck')
    if (stated === undefined) return true
    return [...this.checks.values()].some(check => this.memoryCheck(check) === stated)
  }
}

const yes = (workNs: number): Done => ({ means: 'ok', workNs })
