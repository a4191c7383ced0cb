import { createHash } from 'node:crypto'
import type { Judged, TrustedKey } from '../../shared/image/signature.ts'
import type { EntrySignature, LibraryEntry } from '../../shared/library/entry.ts'
import type { WorkerPool } from '../work/pool.ts'

/**
 * What the makers' signatures on the library's image cards prove by the keys that are trusted now. To verify one takes
 * a millisecond or two, so it is done by a worker, and once for each card and key.
 */

/** So many are verified by one task, so that none of them comes near a worker's time limit. */
const JUDGED_AT_ONCE = 50

/** The entries whose verdict is not what it was, with the new one. */
export async function judgeAnew(
  entries: readonly LibraryEntry[],
  keys: readonly TrustedKey[],
  pool: WorkerPool,
): Promise<LibraryEntry[]> {
  const changed: LibraryEntry[] = []
  const open: { readonly entry: LibraryEntry; readonly of: string; readonly key: TrustedKey }[] = []
  for (const entry of entries) {
    const verdict = withoutVerifying(entry, keys)
    if (verdict === 'verify') {
      const key = keyOf(entry, keys)
      const of = key && digestOf(entry, key)
      if (key && of && entry.signature?.of !== of) open.push({ entry, of, key })
    } else if (!isSame(entry.signature, verdict)) changed.push({ ...entry, signature: verdict })
  }
  for (let at = 0; at < open.length; at += JUDGED_AT_ONCE) {
    const some = open.slice(at, at + JUDGED_AT_ONCE)
    const verdicts: Judged[] = []
    const signed = some.flatMap(({ entry }) =>
      entry.card === null ? [] : [{ card: entry.card, sha256: entry.id }],
    )
    await pool.run(
      { do: 'judge', signed, keys: [...new Set(some.map(({ key }) => key))] },
      { onPiece: piece => void verdicts.push(piece as Judged) },
    )
    some.forEach(({ entry, of, key }, i) => {
      const judged = verdicts[i]
      // A worker that broke down has judged nothing: that stays unknown, and is tried again at the next listing.
      const signature = judged && signatureOf(judged, key, of)
      if (signature || entry.signature) changed.push({ ...entry, signature })
    })
  }
  return changed
}

/** Where there is no signature, or no key for it, nothing needs verifying. */
function withoutVerifying(entry: LibraryEntry, keys: readonly TrustedKey[]): EntrySignature | 'verify' {
  const signature = entry.card?.signature
  if (signature === undefined) return { verdict: 'missing' }
  const { keyId } = signature
  return keyOf(entry, keys) === undefined ? { verdict: 'unknown-key', keyId } : 'verify'
}

const keyOf = ({ card }: LibraryEntry, keys: readonly TrustedKey[]): TrustedKey | undefined =>
  keys.find(key => key.keyId === card?.signature?.keyId)

const digestOf = ({ card }: LibraryEntry, { publicKey, maker, vendorId }: TrustedKey): string =>
  createHash('sha256')
    .update(JSON.stringify([card, publicKey, maker, vendorId]))
    .digest('hex')

const signatureOf = ({ verdict, problem }: Judged, key: TrustedKey, of: string): EntrySignature => ({
  verdict,
  keyId: key.keyId,
  maker: key.maker,
  ...(problem ? { problem } : {}),
  of,
})

const isSame = (a: EntrySignature | undefined, b: EntrySignature): boolean =>
  a?.verdict === b.verdict && a.keyId === b.keyId
