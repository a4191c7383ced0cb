import type { StoreFailure } from '../../shared/procedure/effects.ts'
import { errorCode } from '../store/atomic-write.ts'

/** What the system says of a volume, in the words of the store effect. */
const FAILURES: Readonly<Record<string, StoreFailure>> = {
  ENOSPC: 'full',
  EDQUOT: 'full',
  EFBIG: 'full',
  EROFS: 'read-only',
  EACCES: 'read-only',
  EPERM: 'read-only',
  EIO: 'bad-sector',
  EUCLEAN: 'bad-sector',
  ENOENT: 'not-found',
  ENOTDIR: 'not-found',
  ENODEV: 'absent',
  ENXIO: 'absent',
  ENOMEDIUM: 'absent',
  ENOTCONN: 'absent',
  ESTALE: 'absent',
  ENAMETOOLONG: 'name',
  EINVAL: 'name',
  EILSEQ: 'name',
  ELOOP: 'name',
  EISDIR: 'name',
}

/** @returns undefined for an error that says nothing about the volume */
export function storeFailureOf(error: unknown): StoreFailure | undefined {
  if (error instanceof NotOnThisVolume) return 'name'
  const code = errorCode(error)
  return Object.hasOwn(FAILURES, code) ? FAILURES[code] : undefined
}

/** The same where the top of the volume itself was asked: what is not found there is no file, but the card. */
export function topFailureOf(error: unknown): StoreFailure | undefined {
  const why = storeFailureOf(error)
  return why === 'not-found' ? 'absent' : why
}

/** A path that a symbolic link, a mount or a special file would lead out of the volume. */
export class NotOnThisVolume extends Error {
  constructor(path: string) {
    super(`${path} is not an ordinary file or folder of this volume`)
    this.name = 'NotOnThisVolume'
  }
}
