import { cutUnits, MAX_NAME_UNITS } from '../card/names.ts'
import type { EffectResult, FailureCode, Procedure, StoreFailure, StoreRequest } from './effects.ts'

/** Putting files on a card so that what is there afterwards is either the old one or the whole new one. */

export interface StagedFile {
  readonly path: string
  readonly octets: Uint8Array
}

export class StagingFailed extends Error {
  readonly code: FailureCode
  /** What the volume said; undefined where it said yes and gave back something else. */
  readonly why: StoreFailure | undefined
  constructor(code: FailureCode, text: string, why?: StoreFailure) {
    super(text)
    this.name = 'StagingFailed'
    this.code = code
    this.why = why
  }
}

const CHUNK_BYTES = 16 * 1024

const failures: Readonly<Record<StoreFailure, { code: FailureCode; text: string }>> = {
  absent: { code: 'card-absent', text: 'The card is not there.' },
  full: { code: 'card-full', text: 'The card is full: the image does not fit on it.' },
  'read-only': { code: 'card-read-only', text: 'The card is read only.' },
  'not-found': { code: 'card-unreadable', text: 'The file is not on the card.' },
  'bad-sector': { code: 'card-unreadable', text: 'Part of the card cannot be read.' },
  name: { code: 'card-unreadable', text: 'The card does not take this file name.' },
}

/** What a volume's no comes to, in words. */
export const stagingFailure = (why: StoreFailure): StagingFailed =>
  new StagingFailed(failures[why].code, failures[why].text, why)

/** @throws StagingFailed when the volume says no */
export function* store(request: StoreRequest): Procedure<EffectResult> {
  const result = yield { do: 'store', request }
  if (result.got !== 'failed') return result
  throw stagingFailure(result.why === 'no-line' ? 'absent' : result.why)
}

export function* readPart(path: string, offset: number, bytes: number): Procedure<Uint8Array> {
  const result = yield* store({ op: 'read', path, offset, bytes })
  return result.got === 'octets' ? result.octets : new Uint8Array(0)
}

const PART = '.part'

/** The temporary name that a file is written under, in the folder where it will lie. */
export function partPath(path: string): string {
  const at = path.lastIndexOf('/') + 1
  return path.slice(0, at) + cutUnits(path.slice(at), MAX_NAME_UNITS - PART.length) + PART
}

/**
 * Writes to a temporary name, flushes, reads back, compares octet for octet, and only then gives the file its name.
 * @throws StagingFailed
 */
export function* stageFile(file: StagedFile): Procedure<void> {
  yield* stageFiles([file])
}

/**
 * Stages files that belong together: all are written, flushed and read back under temporary names before the first
 * of them gets its own, in the order given. Whoever stops the procedure before that, by a failure or by `return` or
 * `throw` from outside, leaves the old files as they were; the temporary ones are removed where the volume lets it.
 * @throws StagingFailed
 */
export function* stageFiles(files: readonly StagedFile[]): Procedure<void> {
  const parts = new Set<string>()
  const total = 2 * files.reduce((sum, file) => sum + file.octets.length, 0)
  let done = 0
  try {
    for (const file of files) {
      const part = partPath(file.path)
      yield* store({ op: 'create', path: part, bytes: file.octets.length })
      parts.add(part)
      yield* writePart(part, file.octets, done, total)
      yield* store({ op: 'flush', path: part })
      yield* comparePart(part, file.octets, done + file.octets.length, total)
      done += 2 * file.octets.length
    }
    for (const file of files) {
      yield* store({ op: 'rename', path: partPath(file.path), to: file.path })
      parts.delete(partPath(file.path))
    }
  } finally {
    // The answers do not matter here: a card that is gone or read only keeps its part files.
    for (const path of parts) yield { do: 'store', request: { op: 'remove', path } }
  }
}

function* writePart(part: string, all: Uint8Array, before: number, total: number): Procedure<void> {
  for (let offset = 0; offset < all.length; offset += CHUNK_BYTES) {
    const octets = all.subarray(offset, offset + CHUNK_BYTES)
    yield* store({ op: 'write', path: part, offset, octets })
    yield { do: 'say', event: { kind: 'progress', done: before + offset + octets.length, total } }
  }
}

function* comparePart(part: string, all: Uint8Array, before: number, total: number): Procedure<void> {
  for (let offset = 0; offset < all.length; offset += CHUNK_BYTES) {
    const back = yield* readPart(part, offset, CHUNK_BYTES)
    const sent = all.subarray(offset, offset + CHUNK_BYTES)
    if (back.length !== sent.length || back.some((octet, i) => octet !== sent[i]))
      throw new StagingFailed('card-unreadable', 'What the card gives back is not what was written to it.')
    yield { do: 'say', event: { kind: 'progress', done: before + offset + back.length, total } }
  }
}
