import { digestWords } from '../../../shared/image/digest.ts'

/**
 * What a person does to show that the image was looked at and not only clicked: types one of its digest words, one
 * by which it differs from all that could be taken for it.
 */
export interface Deed {
  /** From 1. */
  readonly position: number
  readonly word: string
}

const PLACES = ['first', 'second', 'third', 'fourth'] as const
export const placeWord = (position: number): string => PLACES[position - 1] ?? `${position}th`

/** @param others digests of the look-alikes; undefined where one is not known */
export function deedFor(digest: string, others: readonly (string | undefined)[]): Deed {
  const words = digestWords(digest).split('-')
  const theirs = others.map(other => (other === undefined ? [] : digestWords(other).split('-')))
  const apart = words.findIndex((word, i) => theirs.every(other => other[i] !== word))
  const at = Math.max(0, apart)
  return { position: at + 1, word: words[at] }
}

export const isDone = (deed: Deed | undefined, typed: string): boolean =>
  deed === undefined || typed.trim().toLowerCase() === deed.word
