import type { ListedVolume } from '../../../shared/api/card.ts'

/** Volumes as a person sees them. */

export const kindWords: Readonly<Record<ListedVolume['kind'], string>> = {
  card: 'Memory card',
  'radio-internal': 'Storage of a radio',
  'external-disk': 'Disk on a cable',
  'image-file': 'File mounted as a volume',
  system: 'Disk of this computer',
  network: 'Network drive',
  memory: 'Disk in memory',
  'not-known': 'Not known what it is',
}

/** The likeliest first. */
const ORDER: readonly ListedVolume['kind'][] = [
  'card',
  'radio-internal',
  'image-file',
  'external-disk',
  'not-known',
  'system',
  'network',
  'memory',
]
const NEVER: readonly ListedVolume['kind'][] = ['system', 'network', 'memory']
export const isNever = (kind: ListedVolume['kind']): boolean => NEVER.includes(kind)

export interface SortedVolumes {
  /** To choose from; those that are refused for now, as a read-only card is, stand among them. */
  readonly shown: readonly ListedVolume[]
  /** Never for images, whatever is done about it. */
  readonly never: readonly ListedVolume[]
}

export function sortVolumes(volumes: readonly ListedVolume[]): SortedVolumes {
  const sorted = volumes.toSorted(
    (a, b) =>
      Number(a.refusal !== undefined) - Number(b.refusal !== undefined) ||
      ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) ||
      (a.path < b.path ? -1 : 1),
  )
  return {
    shown: sorted.filter(v => !isNever(v.kind)),
    never: sorted.filter(v => isNever(v.kind)),
  }
}

/** The one to begin with: the only card that may be written, where the system is certain that it is one. */
export function firstChoice(volumes: readonly ListedVolume[]): string | undefined {
  const cards = volumes.filter(v => v.kind === 'card' && v.refusal === undefined)
  return cards.length === 1 && cards[0].certain ? cards[0].path : undefined
}

/** What came and went, in a sentence for those who do not see the list; undefined where nothing did. */
export function changeWords(
  before: readonly ListedVolume[],
  now: readonly ListedVolume[],
): string | undefined {
  const without = (of: readonly ListedVolume[], others: readonly ListedVolume[]) =>
    of.filter(v => !others.some(o => o.path === v.path)).map(nameOf)
  const [came, went] = [without(now, before), without(before, now)]
  if (came.length + went.length === 0) return undefined
  return [...came.map(name => `${name} is there now.`), ...went.map(name => `${name} is gone.`)].join(' ')
}

export const nameOf = ({ label, path }: Pick<ListedVolume, 'label' | 'path'>): string => label ?? path

const UNITS = ['octets', 'KiB', 'MiB', 'GiB', 'TiB'] as const

/** `6 GiB`, `5.4 GiB`, `64 KiB`: three figures at most, in powers of 1024. */
export function sizeWord(bytes: number): string {
  let [size, unit] = [bytes, 0]
  while (size >= 1024 && unit < UNITS.length - 1) {
    size /= 1024
    unit++
  }
  const figures = size < 10 && unit > 0 ? Math.round(size * 10) / 10 : Math.round(size)
  return `${figures.toLocaleString('en')} ${UNITS[unit]}`
}
