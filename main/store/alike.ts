import type { Comparison } from '../../shared/image/same-payload.ts'
import { type Alike, type LibraryEntry, MOST_ALIKE_KEPT } from '../../shared/library/entry.ts'
import type { WorkerPool } from '../work/pool.ts'

/** Which images of the library are the same program but for what does not matter. */

/**
 * Compares one image with those that share its payloadKey.
 * @param read gives the octets of an image's file
 * @returns those that are alike; at most MOST_ALIKE_KEPT are compared
 */
export async function alikeAmong(
  entry: LibraryEntry,
  entries: readonly LibraryEntry[],
  read: (id: string) => Promise<Uint8Array>,
  pool: WorkerPool,
): Promise<Alike[]> {
  if (entry.payloadKey === undefined) return []
  const candidates = entries.filter(
    other =>
      other.id !== entry.id &&
      other.payloadKey === entry.payloadKey &&
      !other.alike?.some(({ id }) => id === entry.id),
  )
  const found: Alike[] = []
  for (const { id } of candidates.slice(0, MOST_ALIKE_KEPT)) {
    // A file that has gone or cannot be read is like none.
    const [a, b] = await Promise.all([entry.id, id].map(one => read(one).catch(() => undefined)))
    if (a === undefined || b === undefined) continue
    await pool.run(
      { do: 'compare', a, b },
      { onPiece: piece => void found.push(...alikeOf(id, piece as Comparison)) },
    )
  }
  return found
}

function alikeOf(id: string, { likeness, moved, differing }: Comparison): Alike[] {
  // `same` would have the same id.
  if (likeness === 'different' || likeness === 'same') return []
  return [{ id, likeness, moved, differing }]
}

/** The entries with what is said in others of them, both ways, and without what is no longer there. */
export function withAlike(entries: readonly LibraryEntry[]): LibraryEntry[] {
  const all = new Map<string, Map<string, Alike>>(entries.map(({ id }) => [id, new Map()]))
  for (const { id, alike = [] } of entries)
    for (const one of alike) {
      const back = all.get(one.id)
      if (back === undefined) continue
      all.get(id)?.set(one.id, one)
      if (!back.has(id)) back.set(id, { ...one, id })
    }
  return entries.map(entry => {
    const alike = [...(all.get(entry.id)?.values() ?? [])].slice(0, MOST_ALIKE_KEPT)
    if (alike.length > 0) return { ...entry, alike }
    const { alike: _, ...without } = entry
    return entry.alike === undefined ? entry : without
  })
}
