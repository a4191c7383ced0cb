import type { EffectResult, FailureCode, Procedure, StoreFailure, StoreRequest } from './effects.ts'

/** Putting files on a card so that what is there afterwards is either the old one or the whole new one. */

export interface StagedFile {
  readonly path: string
  readonly octets: Uint8Array
}

export class StagingFailed extends Error {
  readonly code: FailureCode
  constructor(code: FailureCode, text: string) {
    super(text)
    this.name = 'StagingFailed'
    this.code = code
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

/** @throws StagingFailed when the volume says no */
export function* store(request: StoreRequest): Procedure<EffectResult> {
  const result = yield { do: 'store', request }
  if (result.got !== 'failed') return result
  const failure = failures[result.why === 'no-line' ? 'absent' : result.why]
  throw new StagingFailed(failure.code, failure.text)
}

export function* readPart(path: string, offset: number, bytes: number): Procedure<Uint8Array> {
  const result = yield* store({ op: 'read', path, offset, bytes })
  return result.got === 'octets' ? result.octets : new Uint8Array(0)
}

/**
 * Writes to a temporary name, flushes, reads back, compares octet for octet, and only then gives the file its name.
 * @throws StagingFailed
 */
export function* stageFile(file: StagedFile): Procedure<void> {
  const part = `${file.path}.part`
  yield* store({ op: 'create', path: part, bytes: file.octets.length })
  for (let offset = 0; offset < file.octets.length; offset += CHUNK_BYTES) {
    const octets = file.octets.subarray(offset, offset + CHUNK_BYTES)
    yield* store({ op: 'write', path: part, offset, octets })
    yield {
      do: 'say',
      event: { kind: 'progress', done: offset + octets.length, total: 2 * file.octets.length },
    }
  }
  yield* store({ op: 'flush', path: part })
  for (let offset = 0; offset < file.octets.length; offset += CHUNK_BYTES) {
    const back = yield* readPart(part, offset, CHUNK_BYTES)
    const sent = file.octets.subarray(offset, offset + CHUNK_BYTES)
    if (back.length !== sent.length || back.some((octet, i) => octet !== sent[i]))
      throw new StagingFailed('card-unreadable', 'What the card gives back is not what was written to it.')
    const done = file.octets.length + offset + back.length
    yield { do: 'say', event: { kind: 'progress', done, total: 2 * file.octets.length } }
  }
  yield* store({ op: 'rename', path: part, to: file.path })
}
