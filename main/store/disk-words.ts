import { errorCode } from './atomic-write.ts'

/** What the file system says, in words for a person; each is the end of a sentence, without its full stop. */

const EITHER_WAY: Readonly<Record<string, string>> = {
  ENOTDIR: 'part of the way to it is a file, not a folder',
  ENAMETOOLONG: 'the name is too long for this system',
  ELOOP: 'this is a link that leads back to itself',
  EIO: 'its disk does not work as it should',
  EMFILE: 'too many files are open at once',
}

const NOT_WRITTEN: Readonly<Record<string, string>> = {
  ...EITHER_WAY,
  EACCES: 'you may not write there',
  EPERM: 'you may not write there',
  EROFS: 'nothing can be written there',
  EISDIR: 'this is a folder',
  EEXIST: 'there is something of this name already',
  ENOENT: 'its folder is not there',
  ENOSPC: 'the disk is full',
  EDQUOT: 'your share of the disk is used up',
  EFBIG: 'the file would become too large',
  ENXIO: 'nobody reads at the other end of it',
}

const NOT_READ: Readonly<Record<string, string>> = {
  ...EITHER_WAY,
  EACCES: 'you may not read it',
  EPERM: 'you may not read it',
  EISDIR: 'this is a folder',
  ENOENT: 'there is no such file',
}

const inWords = (words: Readonly<Record<string, string>>, error: unknown): string => {
  const code = errorCode(error)
  if (Object.hasOwn(words, code)) return words[code]
  return code === '' ? String(error) : `the system says ${code}`
}

/** Why something could not be written. */
export const whyNotKept = (error: unknown): string => inWords(NOT_WRITTEN, error)

/** Why something could not be read. */
export const whyNotRead = (error: unknown): string => inWords(NOT_READ, error)

/** There is no room for what is written; undefined for any other error. */
export const whyNoRoom = (error: unknown): string | undefined =>
  ['ENOSPC', 'EDQUOT', 'EFBIG'].includes(errorCode(error)) ? whyNotKept(error) : undefined
