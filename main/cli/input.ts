import { readFile, stat } from 'node:fs/promises'
import { basename } from 'node:path'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, MAX_BENCH_FILE_BYTES, readBench } from '../../shared/model/bench.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import { BadInput } from './ending.ts'

/** Images are at most this large, as text of an Intel HEX file. */
export const MAX_IMAGE_FILE_BYTES = 16 * 1024 * 1024

const reasons: Readonly<Record<string, string>> = {
  ENOENT: 'There is no such file.',
  EACCES: 'This file may not be read.',
  EISDIR: 'This is a folder, not a file.',
}

/** @throws BadInput that names the file, when it is not there, not readable, or larger than `mostBytes` */
export async function readInput(path: string, mostBytes: number): Promise<Uint8Array> {
  try {
    const { size } = await stat(path)
    if (size > mostBytes)
      throw new BadInput([
        {
          code: 'file.too-large',
          file: path,
          message: `The file has ${size} octets.`,
          expected: `at most ${mostBytes}`,
        },
      ])
    return new Uint8Array(await readFile(path))
  } catch (error) {
    if (error instanceof BadInput) throw error
    const code = (error as NodeJS.ErrnoException).code ?? ''
    throw new BadInput([
      {
        code: 'file.unreadable',
        file: path,
        message: reasons[code] ?? `The file cannot be read (${code || String(error)}).`,
        remedy: 'Check the name and try again.',
      },
    ])
  }
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

/** The image card beside an image, `NAME.card.json`, if there is one. */
export async function cardBeside(path: string): Promise<string | undefined> {
  try {
    const octets = await readFile(`${path}.card.json`)
    return octets.length <= 200_000 ? octets.toString('utf8') : undefined
  } catch {
    return undefined
  }
}

export const fileNameOf = (path: string): string => basename(path)

export const bad = (problem: Problem): never => {
  throw new BadInput([problem])
}
