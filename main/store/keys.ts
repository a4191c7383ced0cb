import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { ProblemsError } from '../../shared/api/serve.ts'
import {
  MAX_KEYS_CHARACTERS,
  readTrustedKeys,
  type TrustedKey,
  trustedKeySchema,
  trustedKeysSchema,
} from '../../shared/image/signature.ts'
import { problemsOfZod } from '../../shared/model/bench.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { writeAtomically } from './atomic-write.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded, readUtf8 } from './read-file.ts'

/** A key as somebody typed or pasted it. */
export interface TypedKey {
  readonly keyId: string
  readonly maker: string
  readonly publicKey: string
  readonly vendorId?: string | undefined
  readonly added?: string | undefined
}

/**
 * The makers' keys that the person trusts, in the file `keys.json` of one data folder. A file that cannot be read
 * means that no key is trusted; it is left as it is until it is mended or a key is added, and then kept aside.
 */
export class KeysFile {
  readonly #path: string
  readonly #nowIso: () => string
  readonly #inTurn = oneAtATime()

  constructor(dataFolder: string, nowIso: () => string = () => new Date().toISOString()) {
    this.#path = join(dataFolder, 'keys.json')
    this.#nowIso = nowIso
  }

  /** By maker and name. `problem` says why none is trusted where the file cannot be read. */
  get(): Promise<{ readonly keys: TrustedKey[]; readonly problem?: Problem }> {
    return this.#inTurn('keys', () => this.#read())
  }

  /**
   * @returns all keys
   * @throws ProblemsError `keys.field`, `keys.known`, `keys.too-many`; ProblemError `keys.not-saved`
   */
  add(typed: TypedKey): Promise<TrustedKey[]> {
    return this.#inTurn('keys', async () => {
      const key = this.#checked(typed)
      const { keys, problem } = await this.#read()
      if (keys.some(known => known.keyId === key.keyId)) throw new ProblemError(isKnown(key.keyId))
      return this.#write([...keys, key], problem)
    })
  }

  /** @throws ProblemError `keys.unknown`, `keys.not-saved` */
  remove(keyId: string): Promise<{ readonly keys: TrustedKey[]; readonly removed: TrustedKey }> {
    return this.#inTurn('keys', async () => {
      const { keys } = await this.#read()
      const removed = keys.find(key => key.keyId === keyId)
      if (removed === undefined)
        throw new ProblemError({
          code: 'keys.unknown',
          field: 'keyId',
          message: `There is no key "${keyId.slice(0, 60)}" among the trusted ones.`,
          remedy: 'Look at the list again: it may have been removed in another window.',
        })
      return { keys: await this.#write(keys.filter(key => key !== removed)), removed }
    })
  }

  /**
   * Adds the keys of a file, all or none of them; those that are there already are left as they are.
   * @throws ProblemsError those of readTrustedKeys, `keys.other`; ProblemError `keys.not-saved`
   */
  import(
    text: string,
    fileName: string,
  ): Promise<{ readonly keys: TrustedKey[]; readonly added: TrustedKey[]; readonly known: number }> {
    return this.#inTurn('keys', async () => {
      const read = readTrustedKeys(text, fileName)
      if (!read.ok) throw new ProblemsError(read.problems)
      const { keys, problem } = await this.#read()
      const knownAs = (key: TrustedKey) => keys.find(known => known.keyId === key.keyId)
      const other = read.value.filter(key => knownAs(key) && knownAs(key)?.publicKey !== key.publicKey)
      if (other.length > 0) throw new ProblemsError(other.map(key => otherKey(key.keyId, fileName)))
      const added = read.value.filter(key => knownAs(key) === undefined)
      const all = added.length === 0 ? keys : await this.#write([...keys, ...added], problem)
      return { keys: all, added, known: read.value.length - added.length }
    })
  }

  #checked({ keyId, maker, publicKey, vendorId, added }: TypedKey): TrustedKey {
    const raw = {
      keyId: keyId.trim(),
      maker: maker.trim(),
      publicKey: publicKey.replaceAll(/[\s:]/g, ''),
      ...(vendorId === undefined ? {} : { vendorId }),
      added: added ?? this.#nowIso(),
    }
    const parsed = trustedKeySchema.safeParse(raw)
    if (parsed.success) return parsed.data
    throw new ProblemsError(
      problemsOfZod(parsed.error, 'keys.field', undefined, raw).map(problem => ({
        ...problem,
        remedy:
          'Correct this field; the key is on the maker’s page or in the papers that came with the receiver.',
      })),
    )
  }

  async #read(): Promise<{ keys: TrustedKey[]; problem?: Problem }> {
    try {
      const octets = await readBounded(this.#path, 4 * MAX_KEYS_CHARACTERS)
      const read = readTrustedKeys(readUtf8(octets, this.#path), this.#path)
      if (read.ok) return { keys: read.value.sort(byMaker) }
      return { keys: [], problem: damaged(this.#path, read.problems[0]) }
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      return error.problem.code === 'file.missing'
        ? { keys: [] }
        : { keys: [], problem: damaged(this.#path, error.problem) }
    }
  }

  async #write(keys: readonly TrustedKey[], damage?: Problem): Promise<TrustedKey[]> {
    const checked = trustedKeysSchema.safeParse(keys)
    if (!checked.success)
      throw new ProblemError({
        code: 'keys.too-many',
        message: 'There are too many keys.',
        remedy: 'Remove those of makers whose receivers you do not have.',
      })
    try {
      if (damage !== undefined) await fs.rename(this.#path, `${this.#path}.damaged`).catch(() => {})
      await writeAtomically(this.#path, Buffer.from(`${JSON.stringify(checked.data, null, 1)}\n`), {
        mode: 0o600,
      })
    } catch {
      throw new ProblemError({
        code: 'keys.not-saved',
        file: this.#path,
        message: 'The keys could not be saved; the earlier ones are still there.',
        remedy: 'Look whether the disk is full.',
      })
    }
    return checked.data.sort(byMaker)
  }
}

const byMaker = (a: TrustedKey, b: TrustedKey): number =>
  a.maker.localeCompare(b.maker) || a.keyId.localeCompare(b.keyId)

const isKnown = (keyId: string): Problem => ({
  code: 'keys.known',
  field: 'keyId',
  message: `There is a key of the name "${keyId}" already.`,
  remedy: 'If the maker has a new key, it has a new name; else remove the old one first.',
})

const otherKey = (keyId: string, file: string): Problem => ({
  code: 'keys.other',
  file,
  field: 'keyId',
  message: `The key "${keyId}" in this file is another one than the key of that name that you trust.`,
  remedy: 'Ask the maker which is right. To take the new one, remove the old one first.',
})

const damaged = (file: string, why: Problem | undefined): Problem => ({
  code: 'keys.damaged',
  file,
  ...(why?.line === undefined ? {} : { line: why.line }),
  message: `The trusted keys could not be read, so none is trusted now. ${why?.message ?? ''}`.trim(),
  remedy: 'Add them again; the old file is kept aside when you do.',
})
