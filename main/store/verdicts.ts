import { createHash } from 'node:crypto'
import { join } from 'node:path'
import { z } from 'zod'
import type { Judged, TrustedKey } from '../../shared/image/signature.ts'
import { type EntrySignature, entrySignatureSchema, type LibraryEntry } from '../../shared/library/entry.ts'
import type { WorkerPool } from '../work/pool.ts'
import { writeAtomically } from './atomic-write.ts'
import { readBounded } from './read-file.ts'
import { readJson } from './read-json.ts'

/** So many are verified by one task, so that none of them comes near a worker's time limit. */
const JUDGED_AT_ONCE = 50
const MOST_FILE_BYTES = 16 * 1024 * 1024
const fileSchema = z.record(z.string().regex(/^[0-9a-f]{64}$/), entrySignatureSchema)

interface Open {
  readonly entry: LibraryEntry
  readonly key: TrustedKey
  readonly of: string
}

/**
 * What the makers' signatures on the library's image cards prove by the keys that are trusted now. To verify one takes
 * a millisecond or two, so it is done by a worker, and once for each pair of card and key: the verdicts are kept in the
 * file `verdicts.json` beside the images.
 */
export class Verdicts {
  readonly #path: string
  readonly #pool: WorkerPool
  #known: Promise<Map<string, EntrySignature>> | undefined

  constructor(dataFolder: string, pool: WorkerPool) {
    this.#path = join(dataFolder, 'library', 'verdicts.json')
    this.#pool = pool
  }

  /** The entries, each with its verdict; without one where a worker broke down over it, to be tried again. */
  async judge(entries: readonly LibraryEntry[], keys: readonly TrustedKey[]): Promise<LibraryEntry[]> {
    const keyOf = new Map(keys.map(key => [key.keyId, key]))
    this.#known ??= this.#read()
    const known = await this.#known
    const verify: Open[] = entries.flatMap(entry => {
      const key = keyOf.get(entry.card?.signature?.keyId ?? '')
      return key === undefined ? [] : [{ entry, key, of: digestOf(entry, key) }]
    })
    const open = verify.filter(({ of }) => !known.has(of))
    for (let at = 0; at < open.length; at += JUDGED_AT_ONCE)
      await this.#verify(open.slice(at, at + JUDGED_AT_ONCE), known)
    if (open.length > 0) await this.#write(known)
    const verified = new Map(verify.map(({ entry, of }) => [entry.id, known.get(of)]))
    return entries.map(entry => {
      const { signature: _, ...rest } = entry
      const signature = verified.has(entry.id) ? verified.get(entry.id) : withoutVerifying(entry)
      return signature === undefined ? rest : { ...rest, signature }
    })
  }

  async #verify(open: readonly Open[], known: Map<string, EntrySignature>): Promise<void> {
    const verdicts: Judged[] = []
    const signed = open.flatMap(({ entry: { card, id } }) => (card === null ? [] : [{ card, sha256: id }]))
    await this.#pool.run(
      { do: 'judge', signed, keys: [...new Set(open.map(({ key }) => key))] },
      { onPiece: piece => void verdicts.push(piece as Judged) },
    )
    verdicts.forEach(({ verdict, problem }, i) => {
      const { of, key } = open[i]
      const { keyId, maker } = key
      known.set(of, { verdict, keyId, maker, ...(problem ? { problem } : {}), of })
    })
  }

  async #read(): Promise<Map<string, EntrySignature>> {
    try {
      const octets = await readBounded(this.#path, MOST_FILE_BYTES)
      const parsed = fileSchema.safeParse(readJson(new TextDecoder().decode(octets), this.#path))
      return new Map(parsed.success ? Object.entries(parsed.data) : [])
    } catch {
      return new Map()
    }
  }

  /** Where it cannot be kept, the signatures are verified again at the next start. */
  async #write(known: ReadonlyMap<string, EntrySignature>): Promise<void> {
    const text = `${JSON.stringify(Object.fromEntries(known))}\n`
    if (text.length < MOST_FILE_BYTES) await writeAtomically(this.#path, Buffer.from(text)).catch(() => {})
  }
}

/** Where there is no signature, or no key for it, nothing needs verifying. */
function withoutVerifying({ card }: LibraryEntry): EntrySignature {
  const keyId = card?.signature?.keyId
  return keyId === undefined ? { verdict: 'missing' } : { verdict: 'unknown-key', keyId }
}

/** Of all that the verdict depends on: the card, the image, and the key with whose it is. */
const digestOf = ({ card, id }: LibraryEntry, { publicKey, maker, vendorId }: TrustedKey): string =>
  createHash('sha256')
    .update(JSON.stringify([card, id, publicKey, maker, vendorId]))
    .digest('hex')
