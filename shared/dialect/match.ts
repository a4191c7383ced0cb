import type { Check } from './checksums.ts'
import { meantBy, numberOf, putNumber, saidAs } from './context.ts'
import { octetsOfHex } from './hex.ts'
import type { CheckPart, GroupPart, NumberPart, PagesPart, SendPart } from './schema-parts.ts'

/** Octets held against the parts of a send, from the side of whoever receives them: what they stand for is bound. */

/** What one message, or the messages of one request, have said. */
export interface Bound {
  readonly numbers: ReadonlyMap<string, number>
  /** Octets that the number of the block has, for counting round. */
  readonly blockSize: number
  readonly data: Uint8Array | undefined
  readonly pages: readonly number[] | undefined
  readonly fileName: string | undefined
}
export const NOTHING_BOUND: Bound = {
  numbers: new Map(),
  blockSize: 4,
  data: undefined,
  pages: undefined,
  fileName: undefined,
}

export interface MatchTools {
  readonly checks: ReadonlyMap<string, Check>
  /** What a capture holds, for numbers that repeat it. */
  captured(name: string): number | undefined
  /** Octets of data where no number says it. */
  readonly usualLength: number
}

export type Match =
  | { readonly is: 'yes'; readonly end: number; readonly bound: Bound }
  | {
      readonly is: 'partly' | 'no'
      /** Where the part begins that does not fit, and what would have stood there, where that is certain. */
      readonly at: number
      readonly wanted: Uint8Array | undefined
    }

/** One try at one message. */
class Matching {
  readonly numbers: Map<string, number>
  blockSize: number
  data: Uint8Array | undefined
  pages: readonly number[] | undefined
  fileName: string | undefined
  readonly groups = new Map<string, readonly [number, number]>()
  at: number
  /** What the part that did not fit should have been. */
  wanted: Uint8Array | undefined
  readonly octets: Uint8Array
  readonly from: number
  readonly tools: MatchTools

  constructor(octets: Uint8Array, from: number, before: Bound, tools: MatchTools) {
    this.octets = octets
    this.from = from
    this.at = from
    this.tools = tools
    this.numbers = new Map(before.numbers)
    this.blockSize = before.blockSize
    this.data = before.data
    this.pages = before.pages
    this.fileName = before.fileName
  }

  /** @returns where the first `size` octets from here end, or undefined when they are not there yet */
  has(size: number): boolean {
    return this.at + size <= this.octets.length
  }
}

/**
 * @param from where the message begins
 * @param whole the octets end where the message ends, as inside a frame
 * @param before what earlier messages of the same request have bound
 */
export function matchSend(
  parts: readonly SendPart[],
  octets: Uint8Array,
  from: number,
  whole: boolean,
  before: Bound,
  tools: MatchTools,
): Match {
  const m = new Matching(octets, from, before, tools)
  for (let i = 0; i < parts.length; i++) {
    const at = m.at
    const is = one(m, parts[i], whole ? octets.length - leastOf(parts, i + 1, tools) : undefined)
    if (is !== 'yes') return { is: is === 'partly' && !whole ? 'partly' : 'no', at, wanted: m.wanted }
  }
  // What may be nothing at all is never heard: it would be heard without end.
  if (m.at === from || (whole && m.at !== octets.length)) return { is: 'no', at: m.at, wanted: undefined }
  const { numbers, blockSize, data, pages, fileName } = m
  return { is: 'yes', end: m.at, bound: { numbers, blockSize, data, pages, fileName } }
}

type Is = 'yes' | 'partly' | 'no'

/** @param dataEnd where data ends, when the message's end says it */
function one(m: Matching, part: SendPart, dataEnd: number | undefined): Is {
  switch (part.part) {
    case 'octets':
      return fixed(m, octetsOfHex(part.hex))
    case 'number':
      return numeral(m, part)
    case 'data':
      return data(m, dataEnd)
    case 'text':
      return text(m, part.of, dataEnd ?? m.octets.length)
    case 'pages':
      return pages(m, part)
    case 'check':
      return checked(m, part)
    case 'group':
      return group(m, part)
  }
}

function fixed(m: Matching, wanted: Uint8Array): Is {
  m.wanted = wanted
  for (let i = 0; i < wanted.length; i++) {
    if (m.at + i >= m.octets.length) return 'partly'
    if (m.octets[m.at + i] !== wanted[i]) return 'no'
  }
  m.at += wanted.length
  return 'yes'
}

/** The first time a number comes it is taken; after that it has to be the same. */
function numeral(m: Matching, part: NumberPart): Is {
  const captured = part.of.startsWith('capture:') ? m.tools.captured(part.of.slice(8)) : undefined
  const known = captured ?? m.numbers.get(part.of)
  m.wanted = known === undefined ? undefined : octetsOfNumber(saidAs(known, part), part.size, part.order)
  if (!m.has(part.size)) return 'partly'
  const said = numberOf(m.octets.subarray(m.at, m.at + part.size), part.order)
  m.at += part.size
  if (known !== undefined) return saidAs(known, part) === said ? 'yes' : 'no'
  const value = meantBy(said, part)
  if (value < 0) return 'no'
  m.numbers.set(part.of, value)
  if (part.of === 'block') m.blockSize = part.size
  return 'yes'
}

/** What data is trusted to be at the most. */
const MOST_DATA = 8192

function data(m: Matching, dataEnd: number | undefined): Is {
  m.wanted = undefined
  const length = m.numbers.get('length') ?? (dataEnd === undefined ? m.tools.usualLength : dataEnd - m.at)
  if (length < 0 || length > MOST_DATA) return 'no'
  if (!m.has(length)) return 'partly'
  m.data = m.octets.slice(m.at, m.at + length)
  m.numbers.set('length', length)
  m.at += length
  return 'yes'
}

function text(m: Matching, of: 'fileName' | 'imageLength', end: number): Is {
  m.wanted = undefined
  const from = m.at
  const fits = (octet: number) => (of === 'fileName' ? octet >= 0x20 : octet >= 0x30 && octet <= 0x39)
  while (m.at < end && m.at < m.octets.length && m.at - from < 64 && fits(m.octets[m.at])) m.at++
  if (m.at === from) return m.at >= m.octets.length ? 'partly' : 'no'
  const said = String.fromCharCode(...m.octets.subarray(from, m.at))
  if (of === 'fileName') m.fileName = said
  else m.numbers.set('imageLength', Math.min(Number(said), Number.MAX_SAFE_INTEGER))
  return 'yes'
}

function pages(m: Matching, { size, order }: PagesPart): Is {
  m.wanted = undefined
  const count = m.numbers.get('pageCount') ?? 0
  if (count < 1 || count > 255) return 'no'
  if (!m.has(count * size)) return 'partly'
  m.pages = Array.from({ length: count }, (_, i) =>
    numberOf(m.octets.subarray(m.at + i * size, m.at + (i + 1) * size), order),
  )
  m.at += count * size
  return 'yes'
}

function checked(m: Matching, part: CheckPart): Is {
  const check = m.tools.checks.get(part.use)
  const over = part.over === 'all' ? ([m.from, m.at] as const) : m.groups.get(part.over)
  if (check === undefined || over === undefined) return 'no'
  const right = check.of(m.octets, over[0], over[1])
  m.wanted = octetsOfNumber(right, check.octets, check.order)
  if (!m.has(check.octets)) return 'partly'
  const stated = numberOf(m.octets.subarray(m.at, m.at + check.octets), check.order)
  m.at += check.octets
  return right === stated ? 'yes' : 'no'
}

function octetsOfNumber(value: number, size: number, order: 'big' | 'little'): Uint8Array {
  const octets = new Uint8Array(size)
  putNumber(octets, 0, value, size, order)
  return octets
}

function group(m: Matching, part: GroupPart): Is {
  const from = m.at
  const { fillTo } = part
  if (fillTo !== undefined && !m.has(fillTo)) return 'partly'
  // What is empty begins with the filling; what else may stand behind, other senders fill with more.
  if (fillTo !== undefined && part.parts.length === 0 && m.octets[from] !== part.fillWith) return 'no'
  for (const inside of part.parts) {
    const is = one(m, inside, fillTo === undefined ? undefined : from + fillTo)
    if (is !== 'yes') return is === 'partly' && fillTo === undefined ? 'partly' : 'no'
  }
  if (fillTo !== undefined) {
    if (m.at > from + fillTo) return 'no'
    m.at = from + fillTo
  }
  m.groups.set(part.name, [from, m.at])
  return 'yes'
}

/** Octets that the parts from `from` on have, for those that have a fixed number of them. */
function leastOf(parts: readonly SendPart[], from: number, tools: MatchTools): number {
  let sum = 0
  for (let i = from; i < parts.length; i++) {
    const part = parts[i]
    if (part.part === 'octets') sum += octetsOfHex(part.hex).length
    else if (part.part === 'number') sum += part.size
    else if (part.part === 'check') sum += tools.checks.get(part.use)?.octets ?? 0
    else if (part.part === 'group') sum += part.fillTo ?? 0
  }
  return sum
}
