import { rm } from 'node:fs/promises'
import { join } from 'node:path'
import { type BenchDraft, draftSchema } from '../../shared/api/bench-files.ts'
import { checkBench, MAX_BENCH_FILE_BYTES } from '../../shared/model/bench.ts'
import { writeAtomically } from './atomic-write.ts'
import { oneAtATime } from './one-at-a-time.ts'
import { readBounded } from './read-file.ts'
import { readJson } from './read-json.ts'

/** A bench of the largest size, and the path and revision of the file it came from. */
const MOST_BYTES = MAX_BENCH_FILE_BYTES + 16 * 1024

/** Unsaved changes, kept so that a crash or a closed window does not lose them. */
export class Draft {
  readonly #path: string
  readonly #inTurn = oneAtATime()

  constructor(dataFolder: string) {
    this.#path = join(dataFolder, 'draft.json')
  }

  /** @returns null where there is none, or where it cannot be read: a draft is a courtesy, never an obstacle */
  get(): Promise<BenchDraft | null> {
    return this.#inTurn('draft', async () => {
      try {
        const octets = await readBounded(this.#path, MOST_BYTES)
        const draft = draftSchema.parse(readJson(new TextDecoder().decode(octets), this.#path))
        return checkBench(draft.bench).ok ? draft : null
      } catch {
        return null
      }
    })
  }

  /** @throws the file system's error; the draft before is then still there */
  set(draft: BenchDraft | null): Promise<void> {
    return this.#inTurn('draft', () =>
      draft === null
        ? rm(this.#path, { force: true })
        : writeAtomically(this.#path, new TextEncoder().encode(JSON.stringify(draftSchema.parse(draft)))),
    )
  }
}
