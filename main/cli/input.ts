import { createReadStream } from 'node:fs'
import { stat } from 'node:fs/promises'
import { basename } from 'node:path'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, MAX_BENCH_FILE_BYTES, readBench } from '../../shared/model/bench.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import { whyNotRead } from '../store/disk-words.ts'
import { BadInput } from './ending.ts'
import { type Patience, PipeTooLong, PipeTooSlow, readPipe } from './pipes.ts'

/** Images are at most this large, as text of an Intel HEX file. */
export const MAX_IMAGE_FILE_BYTES = 16 * 1024 * 1024
const MAX_CARD_FILE_BYTES = 200_000
/** Letters of a name, where it is said again. */
const MOST_SAID = 60

/** Some files, such as those of /proc, have no size before they are read. */
async function readAtMost(path: string, mostBytes: number): Promise<Uint8Array> {
  const pieces: Uint8Array[] = []
  let read = 0
  for await (const piece of createReadStream(path)) {
    read += piece.length
    if (read > mostBytes) throw tooLarge(path, `more than ${mostBytes}`, mostBytes)
    pieces.push(piece)
  }
  return new Uint8Array(Buffer.concat(pieces))
}

const tooLarge = (path: string, octets: string, mostBytes: number): BadInput =>
  new BadInput([
    {
      code: 'file.too-large',
      file: path,
      message: `The file has ${octets} octets.`,
      expected: `at most ${mostBytes}`,
    },
  ])

const tooSlow = (path: string): BadInput =>
  new BadInput([
    {
      code: 'file.silent-pipe',
      file: path,
      message: 'This is a pipe, and what was waited for did not come out of it.',
      expected: 'a file, or a pipe that something writes into and then closes',
      remedy: 'Name the file itself, or start first what writes into the pipe.',
    },
  ])

/** Longer than any pipe that is written into takes to begin; a person begins to wonder. */
const WONDER_MS = 1500

/** Where nothing comes out of a pipe at once, it is said that it is waited for. */
async function tellingOfWait<T>(path: string, read: () => Promise<T>): Promise<T> {
  const tell = () => process.stderr.write(`Waiting for what comes out of the pipe ${path} …\n`)
  const timer = setTimeout(tell, WONDER_MS)
  try {
    return await read()
  } finally {
    clearTimeout(timer)
  }
}

/**
 * What a file or a pipe holds.
 * @param patience with a pipe; the usual one where nothing is said
 * @throws BadInput that names the file, when it is not there, not readable, no file but a device, or larger than
 *   `mostBytes`, and for a pipe that says nothing or has no end
 */
export async function readInput(path: string, mostBytes: number, patience?: Patience): Promise<Uint8Array> {
  if (path === '')
    return bad({ code: 'file.unreadable', message: 'The name of a file is empty.', expected: 'a file' })
  try {
    const about = await stat(path)
    if (about.isDirectory()) throw Object.assign(new Error('a folder'), { code: 'EISDIR' })
    if (about.size > mostBytes) throw tooLarge(path, String(about.size), mostBytes)
    if (about.isFIFO()) return await tellingOfWait(path, () => readPipe(path, mostBytes, patience))
    // A device such as /dev/full never comes to an end when it is read.
    if (!about.isFile())
      return bad({
        code: 'file.unreadable',
        file: path,
        message: `This is a ${about.isSocket() ? 'socket' : 'device'}, not a file.`,
        remedy: 'Check the name and try again.',
      })
    return await readAtMost(path, mostBytes)
  } catch (error) {
    if (error instanceof BadInput) throw error
    if (error instanceof PipeTooSlow) throw tooSlow(path)
    if (error instanceof PipeTooLong) throw tooLarge(path, `more than ${mostBytes}`, mostBytes)
    throw new BadInput([
      {
        code: 'file.unreadable',
        file: path,
        message: `The file cannot be read: ${whyNotRead(error)}.`,
        remedy: 'Check the name and try again.',
      },
    ])
  }
}

/**
 * For a word in the place of an option that was left out: `--state --json` would make a file named `--json`.
 * @param expected what should have been named
 * @throws BadInput `cli.dash` for a word that begins with a dash
 */
export function notAnOption(given: string, field: string, expected: string): void {
  if (!given.startsWith('-')) return
  bad({
    code: 'cli.dash',
    field,
    message: `"${given.slice(0, MOST_SAID)}" begins with a dash, as options do.`,
    expected,
    remedy: 'For a file that is really called so, put ./ before its name.',
  })
}

/** @throws BadInput with the problems of the result */
export function need<T>(result: Result<T>): T {
  if (!result.ok) throw new BadInput(result.problems)
  return result.value
}

/** The bench file, or the demo when none is named. */
export async function benchFrom(options: { bench?: string; demo?: boolean }): Promise<Bench> {
  if (options.bench === undefined) return demoBench()
  if (options.demo)
    throw new BadInput([
      { code: 'cli.both', field: '--bench', message: 'Either --demo or --bench, not both.' },
    ])
  const octets = await readInput(options.bench, MAX_BENCH_FILE_BYTES)
  return need(readBench(new TextDecoder().decode(octets), options.bench))
}

/**
 * The image card beside an image, `NAME.card.json`, if there is one.
 * @throws BadInput for a card that is there and cannot be read: it might say that the image is for something else
 */
export async function cardBeside(path: string): Promise<string | undefined> {
  const card = `${path}.card.json`
  const about = await stat(card).catch(() => undefined)
  if (!about?.isFile()) return undefined
  return new TextDecoder().decode(await readInput(card, MAX_CARD_FILE_BYTES))
}

export const fileNameOf = (path: string): string => basename(path)

export const bad = (problem: Problem): never => {
  throw new BadInput([problem])
}
