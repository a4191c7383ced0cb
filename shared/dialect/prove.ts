import type { Procedure } from '../procedure/effects.ts'
import { runsProgram, shownAfter } from './identity.ts'
import type { IdentityField, Proof } from './plan.ts'
import { AttemptFailed, type DialectRun } from './run.ts'

/** Showing that a receiver holds what was sent, and that it runs it. */

/**
 * Has the receiver work out a check over what it holds, or reads all of it back; whichever the dialect has.
 * @returns how it was shown; `none` where the dialect has neither
 * @throws AttemptFailed `verify-differs`, or what ends a conversation
 */
export function* verifyWritten(run: DialectRun): Procedure<Proof['verified']> {
  const { read, digest } = run.dialect
  if (digest === undefined && read === undefined) return 'none'
  yield* run.phase('verify')
  if (digest === undefined) {
    yield* readBack(run)
    return 'read-back'
  }
  const { c, speaker } = run
  c.address = c.imageAddress
  c.offset = 0
  c.length = c.image.length
  yield* run.must(digest.steps)
  const check = speaker.checks.get(digest.check)
  if (check === undefined || c.captures.get(digest.capture)?.value !== c.imageCheck(check))
    throw new AttemptFailed('verify-differs', 'What the receiver holds is not what was sent to it.')
  return 'digest'
}

function* readBack(run: DialectRun): Procedure<void> {
  const { image, imageAddress } = run.c
  let differs = false
  yield* run.read(imageAddress, image.length, (part, at) => {
    if (!same(part, image.subarray(at, at + part.length))) differs = true
  })
  if (differs) throw new AttemptFailed('verify-differs', 'What was read back is not what was written.')
}

/**
 * Asks again who it is, after the start.
 * @param expected values that have to be shown; none of them proves nothing
 * @returns whether it has shown them, and why not where it cannot
 * @throws AttemptFailed `not-started`
 */
export function* identifyAgain(
  run: DialectRun,
  expected: Readonly<Record<string, string>>,
): Procedure<{ readonly identified: boolean; readonly why?: string }> {
  run.c.captures.clear()
  let identity: readonly IdentityField[]
  try {
    identity = (yield* run.identify()) ?? []
  } catch (error) {
    if (!(error instanceof AttemptFailed)) throw error
    throw new AttemptFailed('not-started', `After the start there is no answer: ${error.message}`)
  }
  if (runsProgram(run.dialect, identity) === false)
    throw new AttemptFailed('not-started', 'The receiver stayed in its boot loader.')
  const { other, why } = shownAfter(run.dialect, identity, expected)
  if (other !== undefined)
    throw new AttemptFailed('not-started', `Its ${other.label} is ${other.is}, expected ${other.wanted}.`)
  if (why === undefined) return { identified: Object.keys(expected).length > 0 }
  yield* run.note('caution', why)
  return { identified: false, why }
}

export function same(a: Uint8Array, b: Uint8Array): boolean {
  if (a.length !== b.length) return false
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false
  return true
}
