/** A band of the time line. */
export interface Row {
  readonly kind: 'axis' | 'supply' | 'wave' | 'octets' | 'frames'
  readonly laneNumber: number
  readonly top: number
  readonly height: number
}

export const GUTTER = 92
const AXIS = 20
const SUPPLY = 34
const OCTETS = 17
const GAP = 6

/**
 * Rows from top to bottom for so many lanes; what is left over goes to waveforms and frames.
 * @param hasSupply at a real port nobody measures the supply, and there is no row for it
 */
export function rowsFor(lanes: number, height: number, hasSupply = true): Row[] {
  const rows: Row[] = [{ kind: 'axis', laneNumber: -1, top: 0, height: AXIS }]
  let top = AXIS + 2
  if (hasSupply) {
    rows.push({ kind: 'supply', laneNumber: -1, top, height: SUPPLY })
    top += SUPPLY + GAP
  }
  if (lanes === 0) return rows
  const perLane = (height - top) / lanes
  for (let laneNumber = 0; laneNumber < lanes; laneNumber++) {
    const wave = Math.max(24, (perLane - OCTETS - GAP * 2) * 0.58)
    const frames = Math.max(18, perLane - OCTETS - GAP * 2 - wave)
    rows.push({ kind: 'wave', laneNumber, top, height: wave })
    rows.push({ kind: 'octets', laneNumber, top: top + wave + 3, height: OCTETS })
    rows.push({ kind: 'frames', laneNumber, top: top + wave + 3 + OCTETS + 3, height: frames })
    top += perLane
  }
  return rows
}

export const rowAt = (rows: readonly Row[], y: number): Row | undefined =>
  rows.find(row => y >= row.top && y < row.top + row.height)
