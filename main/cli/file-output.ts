import { realpath, stat, writeFile } from 'node:fs/promises'
import { errorCode, writeAtomically } from '../store/atomic-write.ts'
import { whyNotKept } from '../store/disk-words.ts'
import { bad } from './input.ts'
import { PipeTooSlow, writePipe } from './pipes.ts'
import { NoRoom } from './place.ts'

/** The reason in words, or else the code of the system. */
export function whyNotWritten(error: unknown): string {
  if (error instanceof PipeTooSlow) return 'what reads the pipe does not go on'
  if (error instanceof NoRoom) return error.message
  return whyNotKept(error)
}

/**
 * Puts a file in its place whole or not at all; one that is there is replaced. A pipe or a device takes what comes.
 * @throws BadInput `cli.write` that names the file and the option
 */
export async function writeOutput(path: string, field: string, content: Uint8Array | string): Promise<void> {
  if (path === '')
    bad({ code: 'cli.write', field, message: 'The name of a file is empty.', expected: 'a file' })
  try {
    const about = await stat(path).catch(allowingNone)
    if (about?.isFIFO()) return await writePipe(path, content)
    if (about !== undefined && !about.isFile()) return await writeFile(path, content)
    const octets = typeof content === 'string' ? new TextEncoder().encode(content) : content
    // What a link leads to is replaced, not the link.
    await writeAtomically(about === undefined ? path : await realpath(path), octets, {
      mode: about?.mode ?? 0o666,
    })
  } catch (error) {
    bad({
      code: 'cli.write',
      field,
      file: path,
      message: `The file cannot be written: ${whyNotWritten(error)}.`,
      remedy: 'Choose another name or folder.',
    })
  }
}

function allowingNone(error: unknown): undefined {
  if (errorCode(error) !== 'ENOENT') throw error
}
