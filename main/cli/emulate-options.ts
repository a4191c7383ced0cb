import type { Dialect } from '../../shared/dialect/schema.ts'
import { LIVE_DIALECTS } from '../../shared/rehearse/live-dialects.ts'
import type { PaceMode } from '../../shared/sim/live.ts'
import { dialectOption, namedDialect } from './dialect-option.ts'
import { bad } from './input.ts'

/** Options of `emulate`, read. */

/** Longer than the pause that an update makes before it tries again. */
export const QUIET_SECONDS = 5
/** Time enough to start the host in another window. */
export const HOST_SECONDS = 60
const MOST_SECONDS = 3600

export interface Patience {
  /** Ends so long after the last octet of the host; undefined: it goes on. */
  readonly quietEndsMs: number | undefined
  /** Ends so long after it is ready where no host has said anything; undefined: it goes on. */
  readonly noHostEndsMs: number | undefined
}

/** @throws BadInput for what is no time, and for a wait that nothing ends */
export function patienceOption({
  once,
  waitForHost,
}: {
  readonly once?: boolean | string
  readonly waitForHost?: string
}): Patience {
  if (once === undefined || once === false) {
    if (waitForHost === undefined) return { quietEndsMs: undefined, noHostEndsMs: undefined }
    return bad({
      code: 'cli.wait-for-host',
      field: '--wait-for-host',
      message: 'Without --once it is played until you end it, whether a host speaks or not.',
      remedy: 'Add --once, or leave --wait-for-host out.',
    })
  }
  return {
    quietEndsMs: secondsOption('--once', once === true ? QUIET_SECONDS : once),
    noHostEndsMs: secondsOption('--wait-for-host', waitForHost ?? HOST_SECONDS),
  }
}

function secondsOption(field: '--once' | '--wait-for-host', said: string | number): number {
  const seconds = typeof said === 'string' && said.trim() === '' ? Number.NaN : Number(said)
  if (seconds > 0 && seconds <= MOST_SECONDS) return seconds * 1000
  return bad({
    code: field === '--once' ? 'cli.once' : 'cli.wait-for-host',
    field,
    message: `"${said}" is not a time.`,
    expected: `seconds, more than 0 and at most ${MOST_SECONDS}`,
  })
}

/** A name as it is; a dialect file is read. @throws BadInput for a file that is no dialect, or a name of none */
export async function liveDialect(text: string): Promise<string | Dialect> {
  const file = await dialectOption(text)
  if (file?.kind === 'data') return file.dialect
  const names = LIVE_DIALECTS.map(dialect => dialect.name)
  return namedDialect(text, 'a dialect that can be played', names)
}

/** @throws BadInput */
export function paceOption(text: string): PaceMode {
  if (text === 'line') return 'line'
  if (text === 'none') return 'unpaced'
  return bad({
    code: 'cli.pace',
    field: '--pace',
    message: `"${text}" is not understood.`,
    expected: 'line or none',
  })
}
