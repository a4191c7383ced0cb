import type { AntennaKind } from '../../../shared/model/looks.ts'

/** Where the parts of a drawn receiver stand. Pure, so that it can be checked without a screen. */

export const PICTURE = { width: 132, height: 80 } as const

/** What is drawn; what is not known is left out of the drawing. */
export interface Outline {
  readonly antennas?: { readonly count: number; readonly kind: AntennaKind | undefined }
  readonly outputs?: number
  readonly lengthMillimetres?: number
  readonly widthMillimetres?: number
}

export interface Box {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** A receiver that nothing is known of is drawn so large, in millimetres; no particular one. */
const ANY = { length: 44, width: 26 } as const
/** Room for antennas on the left and for the ends of the pins on the right. */
const LEFT = 40
const RIGHT = 4
/** No case is drawn larger than this in millimetres, so that it fits. */
const MOST_DRAWN = { length: 58, width: 50 } as const

/** The case, to one scale in all drawings, so that a long one looks long beside a short one. */
export function caseBox({ lengthMillimetres, widthMillimetres }: Outline): Box {
  const scale = (PICTURE.width - LEFT - RIGHT) / MOST_DRAWN.length
  const width = Math.min(lengthMillimetres ?? ANY.length, MOST_DRAWN.length) * scale
  const height = Math.min(widthMillimetres ?? ANY.width, MOST_DRAWN.width) * scale
  return { x: LEFT, y: (PICTURE.height - height) / 2, width, height }
}

/** Where each antenna leaves the case, from the top, and where it ends. */
export function antennaEnds(box: Box, count: number): { from: number; to: number }[] {
  return Array.from({ length: count }, (_, i) => {
    const share = count === 1 ? 0.5 : i / (count - 1)
    return {
      from: box.y + box.height * (0.18 + 0.64 * share),
      to: count === 1 ? PICTURE.height / 2 : 10 + (PICTURE.height - 20) * share,
    }
  })
}

const MOST_ROWS = 16

/** Rows of three pins at the right end; more than sixteen stand in two columns. */
export function outputRows(box: Box, outputs: number): { x: number; y: number; size: number }[] {
  const columns = outputs > MOST_ROWS ? 2 : 1
  const perColumn = Math.ceil(outputs / columns)
  const room = box.height - 4
  const pitch = perColumn === 0 ? 0 : Math.min(6.5, room / perColumn)
  const top = box.y + box.height / 2 - (pitch * (perColumn - 1)) / 2
  return Array.from({ length: outputs }, (_, i) => ({
    x: box.x + box.width - 14 - 16 * Math.floor(i / perColumn),
    y: top + pitch * (i % perColumn),
    size: Math.min(2.6, pitch * 0.62),
  }))
}
