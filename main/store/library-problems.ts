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
