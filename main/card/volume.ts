import type { Problem } from '../../shared/model/problem.ts'

/** What a mounted volume is to the person who wants to put an image on a card. */
export type VolumeKind =
  | 'card'
  /** The radio's own flash, which shows up beside the card. */
  | 'radio-internal'
  /** A disk on a cable: neither a card nor a part of the computer. */
  | 'external-disk'
  /** A file mounted as if it were a card. */
  | 'image-file'
  /** The running system, the home folder, or another built-in disk. */
  | 'system'
  | 'network'
  /** Gone when the computer is switched off. */
  | 'memory'
  | 'not-known'

export interface Volume {
  /** Where it is mounted: an absolute path without symbolic links. */
  readonly path: string
  readonly kind: VolumeKind
  /** What the kind was read from, in one sentence, so that a person can judge it. */
  readonly why: string
  /** False where the kind is a guess from size and company. */
  readonly certain: boolean
  readonly label?: string
  readonly fileSystem: string
  readonly readOnly: boolean
  readonly totalBytes: number
  readonly freeBytes: number
  readonly clusterBytes: number
}

/** The sizes, from statfs or its like. */
export interface VolumeSize {
  readonly bsize: number
  readonly blocks: number
  readonly bavail: number
}

export const sizesOf = ({ bsize, blocks, bavail }: VolumeSize) => ({
  totalBytes: bsize * blocks,
  freeBytes: bsize * bavail,
  clusterBytes: bsize,
})

/**
 * A radio with two volumes shows its own flash, of a few megabytes, and a card, of gigabytes. Common practice, no
 * source: whatever rests on these two numbers is called a guess.
 */
export const MOST_INTERNAL_BYTES = 256 * 1024 * 1024
export const LONE_INTERNAL_BYTES = 32 * 1024 * 1024
const CARD_TIMES_INTERNAL = 4

export interface Removable {
  readonly totalBytes: number
  /** Sizes of the other volumes that the same USB device shows. */
  readonly besides: readonly number[]
}

/** Tells the radio's own storage from the card in it. */
export function internalOrCard({ totalBytes, besides }: Removable): Pick<Volume, 'kind' | 'why' | 'certain'> {
  const largest = Math.max(0, ...besides)
  const small = totalBytes <= MOST_INTERNAL_BYTES
  if (small && largest >= CARD_TIMES_INTERNAL * totalBytes)
    return {
      kind: 'radio-internal',
      certain: false,
      why: "It is the small one of two volumes on one USB device, as a radio's own storage is.",
    }
  if (besides.length > 0)
    return {
      kind: 'card',
      certain: false,
      why: 'It is the large one of the volumes that one USB device shows, as the card in a radio is.',
    }
  if (totalBytes <= LONE_INTERNAL_BYTES)
    return {
      kind: 'radio-internal',
      certain: false,
      why: "It is removable, and too small for a card on sale: rather a radio's own storage.",
    }
  return { kind: 'card', certain: true, why: 'The system says that it is a removable medium.' }
}

const NOT_FOR_IMAGES: Partial<Record<VolumeKind, string>> = {
  system: "is a disk of this computer's own, not a card",
  network: 'is a network drive, not a card',
  memory: "lies in the computer's memory and is gone when it is switched off",
}

/** Why nothing may be staged on a volume; undefined where it may. */
export function refusalOf(volume: Volume): Problem | undefined {
  const what = NOT_FOR_IMAGES[volume.kind]
  if (what === undefined) return undefined
  return {
    code: `volume.${volume.kind}`,
    field: 'volume',
    message: `${volume.path} ${what}. ${volume.why}`,
    expected: "the card of the radio, or the radio's own storage",
    remedy:
      'Put the card into a reader, or connect the radio and choose storage on it; then pick that volume.',
  }
}

/** The volume that a path lies on: of those mounted above it, the deepest and last. */
export function volumeOf<T extends { readonly path: string }>(
  path: string,
  volumes: readonly T[],
  separator = '/',
): T | undefined {
  let best: T | undefined
  for (const volume of volumes) {
    const top = volume.path.endsWith(separator) ? volume.path : volume.path + separator
    if (path !== volume.path && !path.startsWith(top)) continue
    if (best === undefined || volume.path.length >= best.path.length) best = volume
  }
  return best
}
