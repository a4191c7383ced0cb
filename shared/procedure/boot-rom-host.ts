import {
  ACK,
  addressOctets,
  COMMAND,
  commandOctets,
  eraseOctets,
  extendedEraseOctets,
  HELLO,
  MAX_BLOCK,
  NACK,
  readCountOctets,
  writeDataOctets,
} from './an3155.ts'
import type { Procedure } from './effects.ts'

/** The host's side of ST AN3155, one command at a time: each is said once, and what came back is a value. */

/** At which step of a command the chip said no. Right at the command: it does not know it, or may not do it. */
export type Step = 'connect' | 'command' | 'address' | 'data'

export type Reply<T> =
  | { readonly got: 'ok'; readonly value: T }
  | { readonly got: 'nack'; readonly step: Step }
  /** No answer in time, or octets that are no answer. */
  | { readonly got: 'nothing' | 'wrong'; readonly step: Step }

export interface HostTiming {
  /** The longest exchange on the line with its answer, in milliseconds, without what the chip does in between. */
  readonly answerMs: number
  /** What programming 256 octets takes on top of that at the most. */
  readonly programMs: number
  /** What erasing one page takes on top of that at the most. */
  readonly erasePageMs: number
  /** How long a chip takes at the most to answer to a single octet, with the delay of the adapter. */
  readonly octetMs: number
}

export interface LoaderFacts {
  /** 31 for version 3.1. */
  readonly version: number
  readonly commands: readonly number[]
}

const ok = <T>(value: T): Reply<T> => ({ got: 'ok', value })
/** As data it is what erased flash holds already, and as a page of Extended Erase it is one that no chip has. */
const FILLER = 0xff
/** The longest thing a chip can still be waiting for: count, 256 octets of data and checksum, and then a command. */
const MOST_FILLERS = MAX_BLOCK + 4

export class BootRomHost {
  private readonly timing: HostTiming

  constructor(timing: HostTiming) {
    this.timing = timing
  }

  /** Says 7F. A NACK is as good as an ACK: the chip was connected already, and took 7F for half a command. */
  *connect(): Procedure<Reply<void>> {
    const answer = yield* this.send(Uint8Array.of(HELLO), 'connect', this.timing.answerMs)
    return answer.got === 'nack' ? ok(undefined) : answer
  }

  /** Get: the loader's version and the commands it has. */
  *get(): Procedure<Reply<LoaderFacts>> {
    const counted = yield* this.counted(COMMAND.get)
    if (counted.got !== 'ok') return counted
    const [version, ...commands] = counted.value
    return ok({ version, commands })
  }

  /** Get ID: the product identifier, 0x410 for instance. */
  *getId(): Procedure<Reply<number>> {
    const counted = yield* this.counted(COMMAND.getId)
    if (counted.got !== 'ok') return counted
    return ok(counted.value.reduce((id, octet) => id * 256 + octet, 0))
  }

  /** Get Version and Read Protection Status: version and two option octets. */
  *getVersion(): Procedure<Reply<{ version: number; options: readonly number[] }>> {
    const begun = yield* this.command(COMMAND.getVersion)
    if (begun.got !== 'ok') return begun
    const answer = yield* this.octets(4, this.timing.answerMs)
    if (answer?.[3] !== ACK) return { got: answer ? 'wrong' : 'nothing', step: 'data' }
    return ok({ version: answer[0], options: [answer[1], answer[2]] })
  }

  /** Read Memory. @param count 1 to 256 */
  *read(address: number, count: number): Procedure<Reply<Uint8Array>> {
    const begun = yield* this.addressed(COMMAND.readMemory, address)
    if (begun.got !== 'ok') return begun
    const counted = yield* this.send(readCountOctets(count), 'data', this.timing.answerMs)
    if (counted.got !== 'ok') return counted
    const data = yield* this.octets(count, this.timing.answerMs)
    return data === undefined ? { got: 'nothing', step: 'data' } : ok(data)
  }

  /** Write Memory. @param data 1 to 256 octets; how many at a time the chip takes depends on the product */
  *write(address: number, data: Uint8Array): Procedure<Reply<void>> {
    const begun = yield* this.addressed(COMMAND.writeMemory, address)
    if (begun.got !== 'ok') return begun
    return yield* this.send(writeDataOctets(data), 'data', this.timing.answerMs + this.timing.programMs)
  }

  /** Erase or Extended Erase, whichever it is that the chip has. */
  *erase(code: typeof COMMAND.erase | typeof COMMAND.extendedErase, pages: readonly number[]) {
    const begun = yield* this.command(code)
    if (begun.got !== 'ok') return begun
    const octets = code === COMMAND.erase ? eraseOctets(pages) : extendedEraseOctets(pages)
    const { answerMs, erasePageMs } = this.timing
    return yield* this.send(octets, 'data', answerMs + pages.length * erasePageMs)
  }

  /** Go: the chip starts what lies at this address; after its ACK nobody listens any more. */
  *go(address: number): Procedure<Reply<void>> {
    return yield* this.addressed(COMMAND.go, address)
  }

  /**
   * After a lost octet the chip still waits for the rest of something, and no time-out is published after which it
   * would give up. Equal octets, one at a time, end that: two of them are never a command and its complement, so the
   * chip says NACK in the end.
   * @param filler what the chip may take for the octets that it misses
   * @returns false when the chip stays silent
   */
  *resynchronise(filler = FILLER): Procedure<boolean> {
    for (let i = 0; i < MOST_FILLERS; i++) {
      const late = yield { do: 'receive', until: got => got.length, timeoutMs: this.timing.octetMs }
      if (late.got !== 'octets') break
    }
    for (let i = 0; i < MOST_FILLERS; i++) {
      const answer = yield* this.send(Uint8Array.of(filler), 'command', this.timing.octetMs)
      if (answer.got === 'nack') return true
    }
    return false
  }

  private *command(code: number): Procedure<Reply<void>> {
    return yield* this.send(commandOctets(code), 'command', this.timing.answerMs)
  }

  private *addressed(code: number, address: number): Procedure<Reply<void>> {
    const begun = yield* this.command(code)
    if (begun.got !== 'ok') return begun
    return yield* this.send(addressOctets(address), 'address', this.timing.answerMs)
  }

  /** A command whose answer is a count less one, that many octets, and ACK. */
  private *counted(code: number): Procedure<Reply<Uint8Array>> {
    const begun = yield* this.command(code)
    if (begun.got !== 'ok') return begun
    const count = yield* this.octets(1, this.timing.answerMs)
    const rest = count && (yield* this.octets(count[0] + 2, this.timing.answerMs))
    if (rest === undefined) return { got: 'nothing', step: 'data' }
    if (rest[rest.length - 1] !== ACK) return { got: 'wrong', step: 'data' }
    return ok(rest.subarray(0, rest.length - 1))
  }

  private *send(octets: Uint8Array, step: Step, timeoutMs: number): Procedure<Reply<void>> {
    yield { do: 'send', octets }
    const answer = yield* this.octets(1, timeoutMs)
    if (answer === undefined) return { got: 'nothing', step }
    if (answer[0] === ACK) return ok(undefined)
    return { got: answer[0] === NACK ? 'nack' : 'wrong', step }
  }

  private *octets(count: number, timeoutMs: number): Procedure<Uint8Array | undefined> {
    const until = (got: Uint8Array) => (got.length >= count ? count : false)
    const result = yield { do: 'receive', until, timeoutMs }
    return result.got === 'octets' ? result.octets : undefined
  }
}
