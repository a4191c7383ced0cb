import { constants } from 'node:fs'
import { open } from 'node:fs/promises'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { errorCode } from './atomic-write.ts'

/** A pipe would keep an ordinary open waiting for ever; Windows has neither the flag nor the trouble. */
const OPEN_FLAGS = constants.O_RDONLY | (constants.O_NONBLOCK ?? 0)

/**
 * Reads a whole regular file, never more than `mostBytes`, whatever its length is said to be.
 * @throws ProblemError `file.missing`, `file.not-a-file`, `file.too-large`, `file.not-allowed`, `file.unreadable`
 */
export async function readBounded(path: string, mostBytes: number): Promise<Buffer> {
  const file = await open(path, OPEN_FLAGS).catch(error => {
    throw new ProblemError(sayReadError(error, path))
  })
  try {
    if (!(await file.stat()).isFile()) throw new ProblemError(notAFile(path))
    const chunks: Buffer[] = []
    for (let read = 0; ; ) {
      const { bytesRead, buffer } = await file.read(Buffer.allocUnsafe(256 * 1024))
      if (bytesRead === 0) return Buffer.concat(chunks)
      read += bytesRead
      if (read > mostBytes) throw new ProblemError(tooLarge(path, mostBytes))
      chunks.push(buffer.subarray(0, bytesRead))
    }
  } catch (error) {
    throw error instanceof ProblemError ? error : new ProblemError(sayReadError(error, path))
  } finally {
    await file.close()
  }
}

const notAFile = (file: string): Problem => ({
  code: 'file.not-a-file',
  file,
  message: 'This is not a file that can be read.',
  remedy: 'Choose a bench file.',
})

const tooLarge = (file: string, mostBytes: number): Problem => ({
  code: 'file.too-large',
  file,
  message: 'The file is too large.',
  expected: `at most ${mostBytes / 1024 / 1024} MiB`,
})

function sayReadError(error: unknown, file: string): Problem {
  switch (errorCode(error)) {
    case 'ENOENT':
    case 'ENOTDIR':
      return {
        code: 'file.missing',
        file,
        message: 'There is no such file.',
        remedy: 'Look whether it was moved, renamed or deleted.',
      }
    case 'EISDIR':
    case 'ENXIO':
      return notAFile(file)
    case 'EACCES':
    case 'EPERM':
      return {
        code: 'file.not-allowed',
        file,
        message: 'This computer does not let you read the file.',
        remedy: 'Ask its owner, or copy it to a folder of your own.',
      }
    default:
      return { code: 'file.unreadable', file, message: 'The file could not be read.', remedy: 'Try again.' }
  }
}

/**
 * Octets as text.
 * @throws ProblemError `file.not-text` that names the line where the text is not UTF-8
 */
export function readUtf8(octets: Uint8Array, file: string): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(octets)
  } catch {
    throw new ProblemError({
      code: 'file.not-text',
      file,
      line: lineOfBadOctet(octets),
      message: 'This is not a text file.',
      expected: 'text in UTF-8',
      remedy: 'Choose another file.',
    })
  }
}

/** The replacement character takes the place of what cannot be read; the first one shows the line. */
function lineOfBadOctet(octets: Uint8Array): number {
  const text = new TextDecoder('utf-8').decode(octets)
  return text.slice(0, Math.max(0, text.indexOf('\ufffd'))).split('\n').length
}
