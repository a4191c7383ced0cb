import type { Procedure } from '../procedure/effects.ts'
import { failureCodeOf, type IdentityField, type WriteFailure } from './plan.ts'
import { AttemptFailed, DialectRun } from './run.ts'
import type { Dialect } from './schema.ts'

/** Reading from a receiver and asking it who it is, without changing anything. */

export interface ReadEnd {
  readonly ended: 'done' | 'failed'
  readonly code: WriteFailure | undefined
  readonly text: string
  readonly retries: number
  readonly identity: readonly IdentityField[] | undefined
  /** What was read, whole or not at all. */
  readonly octets: Uint8Array | undefined
}

/**
 * Reads a part of a receiver, and leaves it as the dialect says.
 * @returns how it ended; never throws what a receiver or a line can cause
 */
export function* readByDialect(plan: {
  readonly dialect: Dialect
  readonly baud: number
  readonly address: number
  readonly octets: number
}): Procedure<ReadEnd> {
  return yield* onlyAsking(plan, function* (run) {
    const octets = new Uint8Array(plan.octets)
    run.c.imageAddress = plan.address
    yield* run.phase('backup')
    yield* run.read(plan.address, plan.octets, (part, at) => octets.set(part, at))
    return octets
  })
}

/** Asks a receiver who it is, and leaves it as the dialect says. */
export function* identifyByDialect(plan: {
  readonly dialect: Dialect
  readonly baud: number
}): Procedure<ReadEnd> {
  return yield* onlyAsking(plan)
}

function* onlyAsking(
  { dialect, baud }: { readonly dialect: Dialect; readonly baud: number },
  read?: (run: DialectRun) => Procedure<Uint8Array>,
): Procedure<ReadEnd> {
  const run = new DialectRun({ dialect, baud })
  const end = (ended: 'done' | 'failed', code?: WriteFailure, text = '', octets?: Uint8Array): ReadEnd => {
    return { ended, code, text, retries: run.speaker.retries, identity: run.identity, octets }
  }
  if (dialect.identify === undefined && read === undefined)
    return end('failed', 'not-supported', 'This dialect has no way to ask a receiver who it is.')
  try {
    yield* run.enter(1)
    if (dialect.identify !== undefined) yield* run.phase('identify')
    yield* run.identify()
    return end('done', undefined, '', read && (yield* read(run)))
  } catch (error) {
    if (!(error instanceof AttemptFailed)) throw error
    const { code, message: text } = error
    yield { do: 'say', event: { kind: 'attempt-failed', attempt: 1, code: failureCodeOf(code), text } }
    return end('failed', code, text)
  } finally {
    yield* run.leave()
  }
}
