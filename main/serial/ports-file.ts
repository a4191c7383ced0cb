import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { z } from 'zod'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { writeAtomically } from '../store/atomic-write.ts'
import { oneAtATime } from '../store/one-at-a-time.ts'
import { readBounded, readUtf8 } from '../store/read-file.ts'
import { readJson } from '../store/read-json.ts'

/** What the person said of ports: names, and places that were typed in. In the file `ports.json` of the data folder. */

const MOST = 200
const fileSchema = z.strictObject({
  version: z.literal(1),
  names: z
    .array(z.strictObject({ key: z.string().min(1).max(500), name: z.string().min(1).max(60) }))
    .max(MOST),
  typed: z.array(z.string().min(1).max(4096)).max(MOST),
})
export type KeptPorts = Omit<z.infer<typeof fileSchema>, 'version'>

const NOTHING: KeptPorts = { names: [], typed: [] }
const MOST_BYTES = 2 * 1024 * 1024

export class PortsFile {
  readonly #path: string
  readonly #inTurn = oneAtATime()

  constructor(dataFolder: string) {
    this.#path = join(dataFolder, 'ports.json')
  }

  /** Never rejects: a file that cannot be read means that nothing was said, and `problem` says so. */
  get(): Promise<{ readonly kept: KeptPorts; readonly problem?: Problem }> {
    return this.#inTurn('ports', () => this.#read())
  }

  /** @throws ProblemError `ports.not-saved`, `ports.too-many`; what was there before is then still there */
  change(how: (kept: KeptPorts) => KeptPorts): Promise<KeptPorts> {
    return this.#inTurn('ports', async () => {
      const { kept, problem } = await this.#read()
      const next = how(kept)
      if (next.names.length > MOST || next.typed.length > MOST)
        throw new ProblemError({
          code: 'ports.too-many',
          message: `No more than ${MOST} ports are kept.`,
          remedy: 'Remove those that are not used any more.',
        })
      await this.#write(next, problem !== undefined)
      return next
    })
  }

  async #read(): Promise<{ kept: KeptPorts; problem?: Problem }> {
    try {
      const text = readUtf8(await readBounded(this.#path, MOST_BYTES), this.#path)
      const { names, typed } = fileSchema.parse(readJson(text, this.#path))
      return { kept: { names, typed } }
    } catch (error) {
      if (error instanceof ProblemError && error.problem.code === 'file.missing') return { kept: NOTHING }
      return { kept: NOTHING, problem: damaged(this.#path) }
    }
  }

  async #write(kept: KeptPorts, isDamaged: boolean): Promise<void> {
    try {
      if (isDamaged) await fs.rename(this.#path, `${this.#path}.damaged`).catch(() => {})
      const text = `${JSON.stringify({ version: 1, ...kept }, null, 1)}\n`
      await writeAtomically(this.#path, Buffer.from(text), { mode: 0o600 })
    } catch {
      throw new ProblemError({
        code: 'ports.not-saved',
        file: this.#path,
        message: 'The names of the ports could not be saved; the earlier ones are still there.',
        remedy: 'Look whether the disk is full.',
      })
    }
  }
}

const damaged = (file: string): Problem => ({
  code: 'ports.damaged',
  file,
  message: 'The names that you gave to ports could not be read.',
  remedy: 'Give them again; the old file is kept aside when you do.',
})
