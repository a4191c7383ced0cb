import type { Check } from './checksums.ts'
import { numberOf, putNumber, saidAs } from './context.ts'
import { octetsOfHex, patternOfHex } from './hex.ts'
import type { Dialect } from './schema.ts'
import type { AnswerPart, CapturePart } from './schema-parts.ts'
import type { ExpectStep, Meaning } from './schema-steps.ts'

/** What an emulated receiver says where the workbench expects something. */

export interface AnswerTools {
  readonly dialect: Dialect
  readonly checks: ReadonlyMap<string, Check>
  number(of: string): number
  /** The octets that it was asked to read. */
  readData(): Uint8Array
  memoryAt(offset: number, count: number): Uint8Array
  memoryCheck(check: Check): number
  readonly inBootLoader: boolean
  /** Octets that it says for a capture instead of what the dialect gives as example. */
  readonly says: Readonly<Record<string, Uint8Array>>
  /** Keeps what it has said, for steps that depend on it. */
  captured(name: string, octets: Uint8Array): void
  /** Names of replies that it prefers where several would do. */
  readonly prefers: readonly string[]
}

/** In what a "no" is said where the dialect has no reply for the very one. */
const INSTEAD: Readonly<Record<Meaning, readonly Meaning[]>> = {
  ok: ['ok'],
  again: ['again', 'refused'],
  refused: ['refused', 'again', 'stop'],
  stop: ['stop', 'refused', 'again'],
  wait: ['wait'],
}

/** @returns the octets, unframed; undefined where the dialect has nothing to say that means this */
export function answerOf(step: ExpectStep, means: Meaning, tools: AnswerTools): Uint8Array | undefined {
  if (means === 'ok' && step.parts.length > 0) return partsOf(step.parts, tools)
  const meaning = (name: string) => step.as[name] ?? tools.dialect.replies[name].means
  for (const wanted of INSTEAD[means]) {
    const fitting = step.replies.filter(name => meaning(name) === wanted)
    const name = fitting.find(reply => tools.prefers.includes(reply)) ?? fitting[0]
    if (name === undefined) continue
    const { octets } = patternOfHex(tools.dialect.replies[name].octets)
    const said = Uint8Array.from(octets, octet => Math.max(0, octet))
    if (step.capture !== undefined) tools.captured(step.capture, said.subarray(0, 1))
    return said
  }
  return undefined
}

function partsOf(parts: readonly AnswerPart[], tools: AnswerTools): Uint8Array {
  const said: number[] = []
  for (const part of parts) for (const octet of octetsOf(part, said, tools)) said.push(octet)
  return Uint8Array.from(said)
}

function octetsOf(part: AnswerPart, before: readonly number[], tools: AnswerTools): Uint8Array {
  switch (part.part) {
    case 'octets':
      return octetsOfHex(part.hex)
    case 'data':
      return tools.readData()
    case 'number':
      return numberOctets(saidAs(tools.number(part.of), part), part.size, part.order)
    case 'check': {
      const check = tools.checks.get(part.use)
      if (check === undefined) return new Uint8Array(0)
      return numberOctets(check.of(Uint8Array.from(before)), check.octets, check.order)
    }
    case 'capture': {
      const octets = tools.says[part.name] ?? captureOctets(part, tools)
      const sized = part.size === undefined ? octets : fitted(octets, part.size, part.order)
      tools.captured(part.name, sized)
      return sized
    }
  }
}

function captureOctets({ says, size = 4, order }: CapturePart, tools: AnswerTools): Uint8Array {
  if (says === 'inBootLoader') return numberOctets(tools.inBootLoader ? 1 : 0, size, order)
  if (typeof says === 'string') return octetsOfHex(says)
  if ('memoryAt' in says) return tools.memoryAt(says.memoryAt, says.octets)
  const check = tools.checks.get(says.memoryCheck)
  return numberOctets(check === undefined ? 0 : tools.memoryCheck(check), size, order)
}

function numberOctets(value: number, size: number, order: 'big' | 'little'): Uint8Array {
  const octets = new Uint8Array(size)
  putNumber(octets, 0, value, size, order)
  return octets
}

const fitted = (octets: Uint8Array, size: number, order: 'big' | 'little'): Uint8Array =>
  octets.length === size ? octets : numberOctets(numberOf(octets.subarray(-4), order), size, order)
