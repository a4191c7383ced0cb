import { rm } from 'node:fs/promises'
import { join } from 'node:path'
import { type Bench, MAX_BENCH_FILE_BYTES, readBench, writeBench } from '../../shared/model/bench.ts'
import { writeAtomically } from './atomic-write.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded } from './read-file.ts'

/** Unsaved changes, kept so that a crash or a closed window does not lose them. */
export class Draft {
  readonly #path: string
  readonly #inTurn = oneAtATime()

  constructor(dataFolder: string) {
    this.#path = join(dataFolder, 'draft.json')
  }

  /** @returns null where there is none, or where it cannot be read: a draft is a courtesy, never an obstacle */
  get(): Promise<Bench | null> {
    return this.#inTurn('draft', async () => {
      try {
        const octets = await readBounded(this.#path, MAX_BENCH_FILE_BYTES)
        const read = readBench(new TextDecoder().decode(octets), 'draft.json')
        return read.ok ? read.value : null
      } catch {
        return null
      }
    })
  }

  /** @throws the file system's error; the draft before is then still there */
  set(bench: Bench | null): Promise<void> {
    return this.#inTurn('draft', () =>
      bench === null
        ? rm(this.#path, { force: true })
        : writeAtomically(this.#path, new TextEncoder().encode(writeBench(bench))),
    )
  }
}
