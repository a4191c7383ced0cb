import { createHash } from 'node:crypto'
import * as fs from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'
import type { ListedBench } from '../../shared/api/bench-files.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import {
  type Bench,
  checkBench,
  MAX_BENCH_FILE_BYTES,
  readBench,
  writeBench,
} from '../../shared/model/bench.ts'
import { lineOfJsonError } from '../../shared/model/json-line.ts'
import type { Problem } from '../../shared/model/problem.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { errorCode, type FileSteps, removeLeftovers, writeAtomically } from './atomic-write.ts'
import { BENCH_ENDING, checkBenchFileName, sameFileName } from './file-name.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded, readUtf8 } from './read-file.ts'

export interface BenchFilesOptions {
  /** The data folder; benches are kept in its folder `benches`. */
  readonly dataFolder: string
  /** Bench file named on the command line, absolute. It is known by this path and saved in place. */
  readonly commandLineFile?: string
  readonly steps?: FileSteps
  readonly nowMs?: () => number
}

export interface OpenedBench {
  readonly bench: Bench
  readonly revision: string
  readonly fileName: string
}

export interface SaveRequest {
  readonly fileName: string
  readonly bench: Bench
  readonly expectedRevision: string | null
  readonly overwrite?: boolean
}

/** More are not listed: somebody has put something else there. */
const MOST_LISTED = 1000

const revisionOf = (octets: Uint8Array): string => createHash('sha256').update(octets).digest('hex')

/** The bench files of one data folder. Failures are thrown as ProblemError or ProblemsError. */
export class BenchFiles {
  readonly #folder: string
  readonly #commandLineFile: string | undefined
  readonly #steps: FileSteps
  readonly #nowMs: () => number
  readonly #inTurn = oneAtATime()

  constructor({ dataFolder, commandLineFile, steps = fs, nowMs = Date.now }: BenchFilesOptions) {
    this.#folder = join(dataFolder, 'benches')
    this.#commandLineFile = commandLineFile
    this.#steps = steps
    this.#nowMs = nowMs
  }

  /** What can be opened: the command line's file first, then the folder's, the latest first. */
  async list(): Promise<ListedBench[]> {
    await removeLeftovers(this.#folder, this.#nowMs())
    const named = this.#commandLineFile
    const names = await fs.readdir(this.#folder).catch(() => [])
    const own = names.filter(name => checkBenchFileName(name).ok && join(this.#folder, name) !== named)
    const listed = await Promise.all(
      own.slice(0, MOST_LISTED).map(name => describe(join(this.#folder, name), name, false)),
    )
    const first = named === undefined ? undefined : await describe(named, named, true)
    const latestFirst = listed
      .filter(entry => entry !== undefined)
      .sort((a, b) => b.modified.localeCompare(a.modified) || a.fileName.localeCompare(b.fileName))
    return first === undefined ? latestFirst : [first, ...latestFirst]
  }

  /** Reads and validates one file. Problems name the file, and the line or the field. */
  async open(fileName: string): Promise<OpenedBench> {
    const place = await this.#placeOf(fileName)
    const octets = await readBounded(place.path, MAX_BENCH_FILE_BYTES)
    const bench = benchFromText(readUtf8(octets, place.fileName), place.fileName)
    return { bench, revision: revisionOf(octets), fileName: place.fileName }
  }

  /**
   * Writes a bench whole or not at all. Saves of one file take turns within this process; two processes can still
   * overtake each other in the moment between looking at the file and replacing it.
   * @throws ProblemError `bench.exists` or `bench.changed-on-disk` where the file is not what the caller expects
   */
  async save(request: SaveRequest): Promise<{ revision: string; fileName: string }> {
    const checked = checkBench(request.bench, request.fileName)
    if (!checked.ok) throw new ProblemsError(checked.problems)
    const octets = Buffer.from(writeBench(checked.value))
    if (octets.length > MAX_BENCH_FILE_BYTES) throw new ProblemError(tooLargeToSave(request.fileName))
    // One key for all spellings of a name, since they may be one file.
    return this.#inTurn(request.fileName.normalize('NFC').toLowerCase(), async () => {
      const place = await this.#placeOf(request.fileName)
      const mode = await this.#agree(place, request)
      try {
        await fs.mkdir(dirname(place.path), { recursive: true })
        await writeAtomically(place.path, octets, { steps: this.#steps, mode })
      } catch (error) {
        throw new ProblemError(sayWriteError(error, place.fileName))
      }
      return { revision: revisionOf(octets), fileName: place.fileName }
    })
  }

  /** Compares what is on the disk with what the caller expects there. @returns the file's permissions, if any */
  async #agree(place: Place, { expectedRevision, overwrite }: SaveRequest): Promise<number | undefined> {
    const about = await fs.stat(place.path).catch(() => undefined)
    if (about !== undefined && !about.isFile()) throw new ProblemError(inTheWay(place.fileName))
    if (overwrite === true) return about?.mode
    if (about !== undefined && expectedRevision === null) throw new ProblemError(exists(place.fileName))
    // A file that has gone is written again: the caller has the only copy.
    if (about === undefined) return undefined
    const found = await readBounded(place.path, MAX_BENCH_FILE_BYTES).then(revisionOf, () => undefined)
    if (found !== expectedRevision) throw new ProblemError(changed(place.fileName))
    return about.mode
  }

  async #placeOf(fileName: string): Promise<Place> {
    if (this.#commandLineFile !== undefined && fileName === this.#commandLineFile) {
      // Saving through a link must replace the file it points to, not the link.
      const path = await fs.realpath(fileName).catch(() => fileName)
      return { path, fileName }
    }
    const checked = checkBenchFileName(fileName)
    if (!checked.ok) throw new ProblemsError(checked.problems)
    const names = await fs.readdir(this.#folder).catch(() => [])
    const spelled =
      names.find(name => name === checked.value) ?? names.find(name => sameFileName(name, checked.value))
    const name = spelled ?? checked.value
    return { path: join(this.#folder, name), fileName: name }
  }
}

interface Place {
  readonly path: string
  readonly fileName: string
}

/** A bench from the text of a file. @throws ProblemsError that name the file, and the line or the field */
export function benchFromText(text: string, fileName: string): Bench {
  const read = readBench(text, fileName)
  if (read.ok) return read.value
  throw new ProblemsError(
    read.problems.map(p =>
      p.code === 'bench.not-json' ? { ...p, line: p.line ?? lineOfJsonError(text) } : p,
    ),
  )
}

async function describe(
  path: string,
  fileName: string,
  fromCommandLine: boolean,
): Promise<ListedBench | undefined> {
  const about = await fs.stat(path).catch(() => undefined)
  if (!about?.isFile()) return undefined
  return {
    fileName,
    name: (await nameInside(path)) ?? nameOfFile(path),
    modified: about.mtime.toISOString(),
    bytes: about.size,
    fromCommandLine,
  }
}

/** The bench's name stands near the top of every file that writeBench has written; nobody waits for the rest. */
async function nameInside(path: string): Promise<string | undefined> {
  try {
    const file = await fs.open(path, 'r')
    try {
      const { bytesRead, buffer } = await file.read(Buffer.alloc(2048), 0, 2048, 0)
      const top = buffer.toString('utf8', 0, bytesRead)
      const found = /^\s*\{[^{[]*?"name"\s*:\s*("(?:[^"\\]|\\.){1,300}?")/.exec(top)
      const name: unknown = found === null ? undefined : JSON.parse(found[1])
      return typeof name === 'string' && name.trim() !== '' ? name.trim().slice(0, 80) : undefined
    } finally {
      await file.close()
    }
  } catch {
    return undefined
  }
}

function nameOfFile(path: string): string {
  const name = basename(path)
  return name.endsWith(BENCH_ENDING) ? name.slice(0, -BENCH_ENDING.length) : name
}

const exists = (file: string): Problem => ({
  code: 'bench.exists',
  file,
  message: 'There is a bench of this name already.',
  remedy: 'Choose another name, or replace it.',
})

const changed = (file: string): Problem => ({
  code: 'bench.changed-on-disk',
  file,
  message: 'Somebody else has changed this file since you opened it. Nothing was saved, so nothing is lost.',
  remedy: 'Save under another name to keep both, or replace the file.',
})

const inTheWay = (file: string): Problem => ({
  code: 'bench.in-the-way',
  file,
  message: 'Something that is not a file has this name.',
  remedy: 'Choose another name.',
})

const tooLargeToSave = (file: string): Problem => ({
  code: 'bench.too-large',
  file,
  message: 'This bench has grown too large for one file.',
  expected: `at most ${MAX_BENCH_FILE_BYTES / 1024 / 1024} MiB`,
  remedy: 'Split it into two benches.',
})

function sayWriteError(error: unknown, file: string): Problem {
  const kept = 'What was saved before is still there.'
  switch (errorCode(error)) {
    case 'ENOSPC':
    case 'EDQUOT':
      return {
        code: 'bench.no-room',
        file,
        message: `The disk is full; the bench was not saved. ${kept}`,
        remedy: 'Make room and save again.',
      }
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return {
        code: 'bench.not-allowed',
        file,
        message: `This computer does not let you write here; the bench was not saved. ${kept}`,
        remedy: 'Save under another name or export the bench.',
      }
    default:
      return {
        code: 'bench.not-saved',
        file,
        message: `The bench could not be saved. ${kept}`,
        remedy: 'Try again, or export the bench.',
      }
  }
}
