import type { FlashLayout } from '../model/catalogue.ts'
import { ProblemError } from '../model/problem.ts'
import type { Dice } from './dice.ts'

/**
 * Flash memory, and strict about it: writing outside, across words or over what was not erased is a bug of the
 * receiver's program and stops the run; only power failures and wear are things that happen.
 * Erased octets read FF. Times after ST DS5319 tables 28 and 29 unless the type says other.
 */
export interface FlashRegion {
  readonly name: 'program' | 'record' | 'boot'
  readonly octets: Uint8Array
  readonly pageBytes: number
  /** Erase cycles of each page. */
  readonly wear: Uint32Array
}

export const makeRegion = (name: FlashRegion['name'], bytes: number, pageBytes: number): FlashRegion => ({
  name,
  octets: new Uint8Array(bytes).fill(0xff),
  pageBytes,
  wear: new Uint32Array(bytes / pageBytes),
})

const bug = (text: string): never => {
  throw new ProblemError({
    code: 'sim.flash-misuse',
    message: `The simulated receiver misused its flash: ${text}.`,
  })
}

export function checkErase(region: FlashRegion, page: number): void {
  if (!Number.isInteger(page) || page < 0 || page >= region.wear.length)
    bug(`erase of page ${page} of ${region.name}`)
}

export function checkProgram(region: FlashRegion, offset: number, data: Uint8Array, wordBytes: number): void {
  if (offset % wordBytes !== 0 || data.length % wordBytes !== 0)
    bug(`write of ${data.length} octets at ${offset}, not whole words`)
  if (offset < 0 || offset + data.length > region.octets.length)
    bug(`write at ${offset} outside ${region.name}`)
  for (let i = 0; i < data.length; i++)
    if (region.octets[offset + i] !== 0xff)
      bug(`write over octet ${offset + i} of ${region.name}, which is not erased`)
}

export function erase(region: FlashRegion, page: number): void {
  checkErase(region, page)
  const from = page * region.pageBytes
  region.octets.fill(0xff, from, from + region.pageBytes)
  region.wear[page]++
}

/** Power failed in the middle: some bits have come up, others have not. */
export function tornErase(region: FlashRegion, page: number, done: number, dice: Dice): void {
  checkErase(region, page)
  const from = page * region.pageBytes
  for (let i = from; i < from + region.pageBytes; i++)
    for (let bit = 1; bit < 256; bit <<= 1) if (dice.next() < done) region.octets[i] |= bit
  region.wear[page]++
}

export function program(region: FlashRegion, offset: number, data: Uint8Array, wordBytes: number): void {
  checkProgram(region, offset, data, wordBytes)
  region.octets.set(data, offset)
}

/** Power failed in the middle: the first words are there, one is half there. */
export function tornProgram(
  region: FlashRegion,
  offset: number,
  data: Uint8Array,
  wordBytes: number,
  done: number,
  dice: Dice,
): void {
  checkProgram(region, offset, data, wordBytes)
  const words = Math.floor((data.length / wordBytes) * done)
  region.octets.set(data.subarray(0, words * wordBytes), offset)
  const half = Math.min(data.length, (words + 1) * wordBytes)
  for (let i = words * wordBytes; i < half; i++)
    for (let bit = 1; bit < 256; bit <<= 1)
      if ((data[i] & bit) === 0 && dice.next() < 0.5) region.octets[offset + i] &= ~bit
}

export const eraseNs = (layout: FlashLayout, dice: Dice): number =>
  Math.round(dice.between(layout.eraseMs.least, layout.eraseMs.most) * 1e6)

/** One draw for the whole write: the spread is between parts and temperatures, not between neighbouring words. */
export const programNs = (layout: FlashLayout, bytes: number, dice: Dice): number =>
  Math.round(
    (bytes / layout.wordBytes) * dice.between(layout.programMicros.least, layout.programMicros.most) * 1e3,
  )
