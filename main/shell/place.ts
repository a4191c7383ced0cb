import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'
import { z } from 'zod'

const sizeSchema = z.number().int().min(320).max(16_384)
const edgeSchema = z.number().int().min(-32_768).max(32_768)
const placeSchema = z.strictObject({
  width: sizeSchema,
  height: sizeSchema,
  x: edgeSchema.optional(),
  y: edgeSchema.optional(),
  maximized: z.boolean().optional(),
})

/** Where a window stood when it was closed, in device-independent pixels. */
export type WindowPlace = z.infer<typeof placeSchema>
export interface Area {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

export const FIRST_PLACE: WindowPlace = { width: 1_440, height: 900 }
const GRIP = 64

/** The remembered place; the first one when nothing, or nothing sensible, is remembered. */
export function readPlace(file: string): WindowPlace {
  try {
    return placeSchema.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch {
    return FIRST_PLACE
  }
}

/**
 * Remembers the place. Written aside and renamed, so that a crash leaves the old one. Returns whether it could be
 * written: a full disk must not keep a window from closing, and the place is worth no message.
 */
export function writePlace(file: string, place: WindowPlace): boolean {
  try {
    mkdirSync(dirname(file), { recursive: true })
    writeFileSync(`${file}.new`, JSON.stringify(placeSchema.parse(place)))
    renameSync(`${file}.new`, file)
    return true
  } catch {
    return false
  }
}

/** The place without its position when so little of it lies on a screen that no one could grab the window. */
export function onScreen(place: WindowPlace, screens: readonly Area[]): WindowPlace {
  const { x, y, ...size } = place
  if (x === undefined || y === undefined) return size
  const grabbable = screens.some(
    screen =>
      x + size.width > screen.x + GRIP &&
      x < screen.x + screen.width - GRIP &&
      y >= screen.y &&
      y < screen.y + screen.height - GRIP,
  )
  return grabbable ? place : size
}
