import type { LibraryEntry } from '../../shared/library/entry.ts'

/** What becomes of an image that comes a second time. */

/**
 * The same image again brings nothing new, unless it brings the card that was missing, or the signed card that takes
 * the place of an unsigned one. What a person has filled in stays.
 */
export function bringsCard(known: LibraryEntry, { card }: LibraryEntry): boolean {
  if (card === null || card.sha256 !== known.id) return known.card === null && card !== null
  if (known.card === null) return true
  if (known.cardFrom !== 'beside' || card.signature === undefined) return false
  return JSON.stringify(known.card) !== JSON.stringify(card)
}

/** The new entry with what was known of the image before. */
export function withPast(known: LibraryEntry, entry: LibraryEntry): LibraryEntry {
  const { alike, alsoAs } = known
  return { ...entry, ...(alike ? { alike } : {}), ...(alsoAs ? { alsoAs } : {}) }
}
