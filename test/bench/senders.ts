import { spawn } from 'node:child_process'
import { closeSync, constants, openSync } from 'node:fs'

/** What sends in a bench, and what is sent. */

/** Octets that repeat neither within a block nor from block to block. */
export const fileOf = (bytes: number): Uint8Array =>
  Uint8Array.from({ length: bytes }, (_, i) => (i * 167 + (i >> 8)) & 0xff)

/** Longer than any write of a bench takes. */
const LONGEST_MS = 60_000

/** Runs a program to its end. @throws Error when it ends otherwise than well */
function carriedOut(
  program: string,
  args: readonly string[],
  stdio: ('ignore' | 'pipe' | number)[],
): Promise<void> {
  return new Promise((resolve, reject) => {
    const child = spawn(program, args, { stdio })
    const late = setTimeout(() => child.kill('SIGKILL'), LONGEST_MS)
    child.once('exit', code => {
      clearTimeout(late)
      if (code === 0) resolve()
      else reject(new Error(`${program} ended with ${code}`))
    })
  })
}

/** `sx -k`, which speaks on its standard input and output. @throws Error when it does not get the file over */
export async function sx(path: string, file: string): Promise<void> {
  const line = openSync(path, constants.O_RDWR | constants.O_NOCTTY)
  try {
    await carriedOut('sx', ['-q', '-k', file], [line, line, 'ignore'])
  } finally {
    closeSync(line)
  }
}

/** A program of Node.js. @throws Error when it ends otherwise than well */
export const nodeProgram = (args: readonly string[]): Promise<void> =>
  carriedOut(process.execPath, args, ['ignore', 'ignore', 'ignore'])
