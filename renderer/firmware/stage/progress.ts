import type { CardProgress, Doing } from '../../../shared/api/card.ts'
import { sizeWord } from './volume-words.ts'

export const doingWords: Readonly<Record<Doing, string>> = {
  copying: 'Copying to the card, under a temporary name',
  flushing: 'Waiting until the card has really taken it',
  'reading-back': 'Reading it back and comparing every octet',
  naming: 'Giving it its name',
  proving: 'Reading it once more under its name',
}

/** What was done by when. */
export interface Sample {
  readonly atMs: number
  readonly done: number
}

const LOOK_BACK_MS = 4000
const LEAST_MS = 300

/** Keeps what is needed to tell the speed of late. */
export const withSample = (samples: readonly Sample[], next: Sample): readonly Sample[] => [
  ...samples.filter(s => next.atMs - s.atMs <= LOOK_BACK_MS),
  next,
]

/** @returns octets a second; undefined while too little was seen to say */
export function speedOf(samples: readonly Sample[]): number | undefined {
  const [first, last] = [samples[0], samples.at(-1)]
  if (first === undefined || last === undefined) return undefined
  const spanMs = last.atMs - first.atMs
  if (spanMs < LEAST_MS || last.done <= first.done) return undefined
  return ((last.done - first.done) / spanMs) * 1000
}

export function leftWord(seconds: number): string {
  if (seconds < 5) return 'a few seconds left'
  if (seconds < 90) return `about ${Math.round(seconds)} s left`
  return `about ${Math.round(seconds / 60)} min left`
}

/** `1.2 MiB of 2 MiB, 400 KiB a second, about 2 s left`, as far as it can be told. */
export function progressWords({ doing, done, total }: CardProgress, samples: readonly Sample[]): string {
  const amount = `${sizeWord(done)} of ${sizeWord(total)} written and read back`
  const speed = speedOf(samples)
  // While the card is busy by itself nobody can say for how long.
  if (speed === undefined || doing === 'flushing' || done >= total) return amount
  return `${amount}, ${sizeWord(speed)} a second, ${leftWord((total - done) / speed)}`
}
