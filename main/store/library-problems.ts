import type { Problem } from '../../shared/model/problem.ts'

export const unknownImage = (id: string): Problem => ({
  code: 'library.unknown',
  field: 'id',
  message: `There is no image ${id.slice(0, 12)} in the library.`,
  remedy: 'Look at the list again: it may have been removed in another window.',
})

export const otherDigest = (id: string): Problem => ({
  code: 'library.other-digest',
  field: 'sha256',
  message: 'This image card describes another image.',
  expected: id,
})

export const notKept = (file: string, error: unknown): Problem => ({
  code: 'library.not-kept',
  file,
  message: `The image could not be kept: ${error instanceof Error ? error.message : String(error)}.`,
  remedy: 'Look whether the disk is full or read only, and import it again.',
})

export const digestDiffers = (sha256: string): Problem => ({
  code: 'library.digest-differs',
  field: 'sha256',
  message: 'This digest is neither that of the file nor that of the program in it.',
  expected: `an image with the digest ${sha256.slice(0, 12)}…`,
  remedy:
    'Look whether it is the digest of this very version. If it is, the file is damaged or another one: get it again.',
})
