import type { Lane } from '../sim/trace.ts'
import type { LaneIndex } from './lane-index.ts'
import { bitOfCharacter } from './uart.ts'

/**
 * The level of a line over time, at bit accuracy: idle high, start bit low, eight data bits with the least
 * significant first, parity where the lane has it, stop bit high. A lane of 8 bits a character is an air
 * interface without start and stop bits. Where bursts overlap, a low level wins.
 */
export interface Waveform {
  /** Level at the start of the window. */
  readonly firstLevel: 0 | 1
  /** Moments at which the level changes, rising, inside the window. */
  readonly edgesNs: Float64Array
  /** False when there were more edges than asked for; the rest is missing. */
  readonly complete: boolean
}

/** Level of one bit of a character on this lane; bits are counted from 0 in the order in which they are sent. */
export function bitOnLane(
  lane: Pick<Lane, 'bitsPerCharacter' | 'parity'>,
  octet: number,
  bit: number,
): 0 | 1 {
  if (lane.bitsPerCharacter === 8) return ((octet >> bit) & 1) as 0 | 1
  return bitOfCharacter(octet, bit, lane.parity) as 0 | 1
}

/** What one bit of a character is for. */
export type BitRole = 'start' | 'data' | 'parity' | 'stop'

/** @param bit 0 up to but not including the lane's bits per character */
export function bitRole(lane: Pick<Lane, 'bitsPerCharacter' | 'parity'>, bit: number): BitRole {
  if (lane.bitsPerCharacter === 8) return 'data'
  if (bit === 0) return 'start'
  if (bit <= 8) return 'data'
  return bit === 9 && lane.parity !== 'none' ? 'parity' : 'stop'
}

/**
 * The waveform of a window of time.
 * @param mostEdges work and memory are bounded by this; pick it from the width of the screen
 */
export function waveformIn(index: LaneIndex, fromNs: number, toNs: number, mostEdges = 20_000): Waveform {
  const lows: Low[] = []
  const { first, last } = index.window(fromNs, toNs)
  let complete = true
  for (let rank = first; rank < last && complete; rank++)
    complete = collectLows(index, rank, fromNs, toNs, lows, mostEdges)
  return { ...edgesOf(unionOf(lows), fromNs, toNs), complete }
}

interface Low {
  readonly fromNs: number
  toNs: number
}

/** Adds the spans in which this burst pulls the line low. @returns false when there are too many */
function collectLows(
  index: LaneIndex,
  rank: number,
  fromNs: number,
  toNs: number,
  lows: Low[],
  most: number,
): boolean {
  const { lane, bitNs, characterNs } = index
  const startNs = index.startNs[rank]
  const burst = index.burst(rank)
  const count = lane.octetCount[burst]
  const from = Math.max(0, Math.floor((fromNs - startNs) / characterNs))
  const to = Math.min(count, Math.ceil((toNs - startNs) / characterNs))
  let lowFrom = -1
  for (let i = from; i < to; i++) {
    const octet = lane.octets[lane.firstOctet[burst] + i]
    for (let bit = 0; bit < lane.bitsPerCharacter; bit++) {
      const bitNumber = i * lane.bitsPerCharacter + bit
      const low = bitOnLane(lane, octet, bit) === 0
      if (low && lowFrom < 0) lowFrom = bitNumber
      if (!low && lowFrom >= 0) {
        lows.push({ fromNs: startNs + lowFrom * bitNs, toNs: startNs + bitNumber * bitNs })
        lowFrom = -1
      }
    }
    if (lows.length * 2 > most) return false
  }
  if (lowFrom >= 0)
    lows.push({ fromNs: startNs + lowFrom * bitNs, toNs: startNs + to * lane.bitsPerCharacter * bitNs })
  return true
}

function unionOf(lows: Low[]): Low[] {
  lows.sort((a, b) => a.fromNs - b.fromNs)
  const union: Low[] = []
  for (const low of lows) {
    const before = union.at(-1)
    // Two talkers' bits meet within a fraction of a nanosecond where the sums were rounded differently.
    if (before !== undefined && low.fromNs <= before.toNs + 0.01)
      before.toNs = Math.max(before.toNs, low.toNs)
    else union.push({ ...low })
  }
  return union
}

function edgesOf(union: readonly Low[], fromNs: number, toNs: number) {
  const edges: number[] = []
  let firstLevel: 0 | 1 = 1
  for (const low of union) {
    if (low.toNs <= fromNs || low.fromNs >= toNs) continue
    if (low.fromNs <= fromNs) firstLevel = 0
    else edges.push(low.fromNs)
    if (low.toNs < toNs) edges.push(low.toNs)
  }
  return { firstLevel, edgesNs: Float64Array.from(edges) }
}

/** Level of the line at one moment of a waveform. */
export function levelAt(waveform: Waveform, atNs: number): 0 | 1 {
  let changes = 0
  while (changes < waveform.edgesNs.length && waveform.edgesNs[changes] <= atNs) changes++
  return (changes % 2 === 0 ? waveform.firstLevel : 1 - waveform.firstLevel) as 0 | 1
}

/** What a column of the screen shows when it is too narrow for bits. */
export interface ColumnSummary {
  /** Time in the column during which somebody speaks, 0..1 of its width. */
  readonly busy: Float32Array
  /** The talker with the most of it; 255 in silence. */
  readonly talker: Uint8Array
  /** All flags (`BURST`) of the bursts in it together. */
  readonly flags: Uint8Array
}

/**
 * A window of time in equal columns, straight from the bursts. For windows with more bursts than the screen can show,
 * use a density pyramid, which costs the same however long the window is.
 */
export function summarise(index: LaneIndex, fromNs: number, toNs: number, columns: number): ColumnSummary {
  const widthNs = (toNs - fromNs) / columns
  const busy = new Float32Array(columns)
  const most = new Float32Array(columns)
  const talker = new Uint8Array(columns).fill(255)
  const flags = new Uint8Array(columns)
  const { lane } = index
  const { first, last } = index.window(fromNs, toNs)
  for (let rank = first; rank < last; rank++) {
    const burst = index.burst(rank)
    const startNs = Math.max(fromNs, index.startNs[rank])
    const endNs = Math.min(toNs, index.endNs[rank])
    const firstColumn = Math.floor((startNs - fromNs) / widthNs)
    for (let column = firstColumn; column < columns; column++) {
      const left = fromNs + column * widthNs
      if (left >= endNs) break
      const share = (Math.min(endNs, left + widthNs) - Math.max(startNs, left)) / widthNs
      busy[column] = Math.min(1, busy[column] + share)
      flags[column] |= lane.flags[burst]
      if (share > most[column]) {
        most[column] = share
        talker[column] = lane.talker[burst]
      }
    }
  }
  return { busy, talker, flags }
}
