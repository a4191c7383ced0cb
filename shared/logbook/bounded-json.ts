import { z } from 'zod'

export type Json =
  | string
  | number
  | boolean
  | null
  | readonly Json[]
  | { readonly [key: string]: Json | undefined }

/** Deeper ones would exhaust the stack of whoever goes through them. */
const MOST_LEVELS = 64

function isJson(value: unknown, levels: number): boolean {
  if (value === null || typeof value === 'string' || typeof value === 'boolean') return true
  if (typeof value === 'number') return Number.isFinite(value)
  if (typeof value !== 'object' || levels === 0) return false
  if (Array.isArray(value)) return value.every(part => isJson(part, levels - 1))
  const prototype: unknown = Object.getPrototypeOf(value)
  if (prototype !== Object.prototype && prototype !== null) return false
  // A field that is undefined is left out of the text.
  return Object.values(value).every(part => part === undefined || isJson(part, levels - 1))
}

/** Any JSON (RFC 8259) of at most 64 levels and `mostCharacters` as text. */
export const boundedJsonSchema = (mostCharacters: number) =>
  z.custom<Json>(
    value => isJson(value, MOST_LEVELS) && JSON.stringify(value).length <= mostCharacters,
    'a value of JSON that is not too large and not too deep',
  )
