import { platform } from 'node:os'
import { ProblemError } from '../../shared/model/problem.ts'
import type { Volume } from './volume.ts'
import { mountedVolumes } from './volumes.ts'

export interface ListingOptions {
  readonly volumes?: () => Promise<readonly Volume[]>
  /** A volume that does not answer in this time keeps the list from coming. */
  readonly timeoutMs?: number
}

const TIMEOUT_MS = 15_000

/**
 * Lists the volumes for whoever asks again and again: while one look is under way, all wait for the same one, so that
 * a drive that hangs holds up one look and not hundreds.
 * @returns a function that rejects with ProblemError `volume.list` where the system does not say what is mounted, and
 * `volume.slow` where it does not say so in time
 */
export function volumeLister({ volumes = mountedVolumes, timeoutMs = TIMEOUT_MS }: ListingOptions = {}) {
  let underWay: Promise<readonly Volume[]> | undefined
  return async (): Promise<readonly Volume[]> => {
    underWay ??= look(volumes).finally(() => {
      underWay = undefined
    })
    return within(underWay, timeoutMs)
  }
}

async function look(volumes: () => Promise<readonly Volume[]>): Promise<readonly Volume[]> {
  try {
    return await volumes()
  } catch {
    throw new ProblemError({
      code: 'volume.list',
      message: `This computer (${platform()}) does not say which volumes are mounted.`,
      remedy: 'Put the image into a folder of your own instead, and copy that to the card on the desktop.',
    })
  }
}

async function within<T>(answer: Promise<T>, timeoutMs: number): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new ProblemError(slow)), timeoutMs)
  })
  try {
    return await Promise.race([answer, late])
  } finally {
    clearTimeout(timer)
  }
}

const slow = {
  code: 'volume.slow',
  message: 'One of the volumes of this computer does not answer.',
  remedy: 'Eject what is not needed, or pull out and put in again the card or drive that hangs.',
}
