import type { Check } from './checksums.ts'
import { type Context, putNumber, saidAs } from './context.ts'
import { octetsOfHex } from './hex.ts'
import type { CheckPart, GroupPart, NumberPart, PagesPart, SendPart } from './schema-parts.ts'

/** A send as a list of small functions, made once, so that a block costs no more than its octets. */

export type Checks = ReadonlyMap<string, Check>

interface Sheet {
  octets: Uint8Array
  at: number
  /** Where each group begins and ends. */
  readonly from: number[]
  readonly to: number[]
}
type Put = (sheet: Sheet, c: Context) => void

/** The longest that a send can become, in octets. */
export function mostOctets(parts: readonly SendPart[], blockOctets: number): number {
  return parts.reduce((sum, part) => sum + mostOf(part, blockOctets), 0)
}

function mostOf(part: SendPart, blockOctets: number): number {
  switch (part.part) {
    case 'octets':
      return octetsOfHex(part.hex).length
    case 'number':
      return part.size
    case 'data':
      return blockOctets
    case 'text':
      return 64
    case 'pages':
      return part.size * 255
    case 'check':
      return 4
    case 'group':
      return Math.max(part.fillTo ?? 0, mostOctets(part.parts, blockOctets))
  }
}

/**
 * @param blockOctets the longest block
 * @returns a function that makes the octets; each call returns an array of its own
 */
export function encoderOf(
  parts: readonly SendPart[],
  checks: Checks,
  blockOctets: number,
): (c: Context) => Uint8Array {
  const groups: string[] = []
  const puts = parts.map(part => putOf(part, checks, groups))
  const sheet: Sheet = { octets: new Uint8Array(mostOctets(parts, blockOctets)), at: 0, from: [], to: [] }
  return c => {
    sheet.at = 0
    for (let i = 0; i < puts.length; i++) puts[i](sheet, c)
    return sheet.octets.slice(0, sheet.at)
  }
}

function putOf(part: SendPart, checks: Checks, groups: string[]): Put {
  switch (part.part) {
    case 'octets':
      return fixed(octetsOfHex(part.hex))
    case 'number':
      return numeral(part, checks)
    case 'data':
      return (s, c) => {
        s.octets.set(c.data, s.at)
        s.at += c.data.length
      }
    case 'text':
      return (s, c) => text(s, part.of === 'fileName' ? c.fileName : String(c.number('imageLength')))
    case 'pages':
      return pages(part)
    case 'check':
      return checkUp(part, checks, groups)
    case 'group':
      return group(part, checks, groups)
  }
}

const fixed =
  (octets: Uint8Array): Put =>
  s => {
    s.octets.set(octets, s.at)
    s.at += octets.length
  }

function numeral(part: NumberPart, checks: Checks): Put {
  const check = part.check === undefined ? undefined : checks.get(part.check)
  return (s, c) => {
    putNumber(s.octets, s.at, saidAs(c.number(part.of, check), part), part.size, part.order)
    s.at += part.size
  }
}

function text(s: Sheet, said: string): void {
  for (let i = 0; i < said.length; i++) s.octets[s.at++] = said.charCodeAt(i)
}

function pages({ size, order }: PagesPart): Put {
  return (s, c) => {
    for (const page of c.pages) {
      putNumber(s.octets, s.at, page, size, order)
      s.at += size
    }
  }
}

function checkUp(part: CheckPart, checks: Checks, groups: readonly string[]): Put {
  const check = checks.get(part.use)
  const over = part.over === 'all' ? -1 : groups.lastIndexOf(part.over)
  if (check === undefined) return () => {}
  return s => {
    const value = over < 0 ? check.of(s.octets, 0, s.at) : check.of(s.octets, s.from[over], s.to[over])
    putNumber(s.octets, s.at, value, check.octets, check.order)
    s.at += check.octets
  }
}

function group(part: GroupPart, checks: Checks, groups: string[]): Put {
  const inner = part.parts.map(inside => putOf(inside, checks, groups))
  const place = groups.push(part.name) - 1
  const { fillTo = 0, fillWith } = part
  return (s, c) => {
    const from = s.at
    for (let i = 0; i < inner.length; i++) inner[i](s, c)
    const end = from + fillTo
    if (s.at < end) {
      s.octets.fill(fillWith, s.at, end)
      s.at = end
    }
    s.from[place] = from
    s.to[place] = s.at
  }
}
