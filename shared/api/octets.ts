/**
 * Values as JSON plus the octets they contain. JSON has no octets, and base64 costs a third more and a copy, so
 * each Uint8Array is taken out, put in a list, and replaced by `{"$octets": index}`. Keys of the value's own that
 * begin with `$` get a second one, so nothing in the data can pass for a placeholder. The numbers that JSON loses
 * (not a number, the infinities, minus zero) travel as `{"$number": "NaN"}`.
 */
import type { Problem } from '../model/problem.ts'
import { ProblemError } from '../model/problem.ts'

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json }

export const MAX_DEPTH = 100
const LOST_NUMBERS: Readonly<Record<string, number>> = {
  NaN: Number.NaN,
  Infinity: Number.POSITIVE_INFINITY,
  '-Infinity': Number.NEGATIVE_INFINITY,
  '-0': -0,
}

const unfit = (message: string): ProblemError =>
  new ProblemError({ code: 'envelope.value', message } satisfies Problem)

/**
 * The value with its octets taken out into `parts`. Fields that are undefined are left out, as JSON does.
 * Throws ProblemError `envelope.value` for what cannot travel: functions, dates, maps, big integers, cycles.
 */
export function takeOutOctets(value: unknown, parts: Uint8Array[], depth = 0): Json {
  if (depth > MAX_DEPTH) throw unfit(`The message is nested more than ${MAX_DEPTH} levels deep.`)
  if (value === null || typeof value === 'boolean' || typeof value === 'string') return value
  if (value === undefined) return null
  if (typeof value === 'number') return takeNumber(value)
  if (value instanceof Uint8Array) {
    parts.push(value)
    return { $octets: parts.length - 1 }
  }
  if (Array.isArray(value)) return value.map(item => takeOutOctets(item, parts, depth + 1))
  if (typeof value !== 'object') throw unfit(`A value of kind ${typeof value} cannot be sent.`)
  const prototype: unknown = Object.getPrototypeOf(value)
  if (prototype !== Object.prototype && prototype !== null) throw unfit('Only plain objects can be sent.')
  const plain: { [key: string]: Json } = {}
  for (const [key, item] of Object.entries(value)) {
    if (key === '__proto__') throw unfit('A field may not be called __proto__.')
    if (item !== undefined)
      plain[key.startsWith('$') ? `$${key}` : key] = takeOutOctets(item, parts, depth + 1)
  }
  return plain
}

function takeNumber(value: number): Json {
  if (Object.is(value, -0)) return { $number: '-0' }
  return Number.isFinite(value) ? value : { $number: String(value) }
}

/** Remembers which part has been handed out, so that one part cannot be asked for a thousand times. */
export interface OctetParts {
  readonly parts: readonly Uint8Array[]
  readonly used: boolean[]
}

/** The inverse of takeOutOctets. Throws ProblemError `envelope.value` on anything it would never have written. */
export function putInOctets(json: Json, octets: OctetParts, depth = 0): unknown {
  if (depth > MAX_DEPTH) throw unfit(`The message is nested more than ${MAX_DEPTH} levels deep.`)
  if (json === null || typeof json !== 'object') return json
  if (Array.isArray(json)) return json.map(item => putInOctets(item, octets, depth + 1))
  const keys = Object.keys(json)
  if (keys.length === 1 && keys[0] === '$octets') return handOut(json.$octets, octets)
  if (keys.length === 1 && keys[0] === '$number') return lostNumber(json.$number)
  const value: { [key: string]: unknown } = {}
  for (const key of keys) {
    if (key === '__proto__') throw unfit('A field may not be called __proto__.')
    if (key.startsWith('$') && !key.startsWith('$$'))
      throw unfit(`The message has the unknown marker ${key}.`)
    value[key.startsWith('$') ? key.slice(1) : key] = putInOctets(json[key], octets, depth + 1)
  }
  return value
}

function handOut(index: Json, { parts, used }: OctetParts): Uint8Array {
  if (typeof index !== 'number' || !Number.isInteger(index) || index < 0 || index >= parts.length) {
    throw unfit('The message names octets that it does not contain.')
  }
  if (used[index]) throw unfit('The message names the same octets twice.')
  used[index] = true
  return parts[index]
}

function lostNumber(name: Json): number {
  if (typeof name !== 'string' || !Object.hasOwn(LOST_NUMBERS, name))
    throw unfit('The message has an unknown number.')
  return LOST_NUMBERS[name]
}
