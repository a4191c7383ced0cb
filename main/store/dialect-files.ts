import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import type { DialectListed } from '../../shared/api/dialects.ts'
import { builtInChosen, builtInList, type Chosen, chosenData, listed } from '../../shared/bench-run/chosen.ts'
import { MOST_DIALECT_CHARACTERS, readDialect, writeDialect } from '../../shared/dialect/schema.ts'
import {
  failed,
  oneOf,
  type Problem,
  ProblemError,
  type Result,
  succeeded,
} from '../../shared/model/problem.ts'
import { errorCode, writeAtomically } from './atomic-write.ts'

/** Dialects: those that are built in, and the files of the data folder. A file is named after its dialect. */

const ENDING = '.dialect.json'
const MOST_FILES = 500

export interface DialectList {
  readonly dialects: DialectListed[]
  readonly broken: { readonly fileName: string; readonly problems: Problem[] }[]
}

export class DialectFiles {
  readonly folder: string

  constructor(dataFolder: string) {
    this.folder = join(dataFolder, 'dialects')
  }

  async list(): Promise<DialectList> {
    const dialects = builtInList()
    const broken: DialectList['broken'] = []
    for (const fileName of await this.#fileNames()) {
      const read = await this.#read(fileName)
      if (read.ok) dialects.push(listed(read.value.dialect, 'file'))
      else broken.push({ fileName, problems: [...read.problems] })
    }
    return { dialects, broken }
  }

  /** @returns `dialect.unknown`, or what is wrong with its file */
  async find(name: string): Promise<Result<Chosen>> {
    const builtIn = builtInChosen(name)
    if (builtIn) return succeeded(builtIn)
    if ((await this.#fileNames()).includes(name + ENDING)) return this.#read(name + ENDING)
    const { dialects } = await this.list()
    return failed({
      code: 'dialect.unknown',
      field: 'dialect',
      message: `There is no dialect called "${name}".`,
      expected: oneOf(
        dialects.map(d => d.name),
        'a dialect',
      ),
    })
  }

  /** @throws ProblemError `dialect.unknown` or what is wrong with its file */
  async text(name: string): Promise<string | null> {
    const found = await this.find(name)
    if (!found.ok) throw new ProblemError(found.problems[0])
    return found.value.kind === 'bus' ? null : found.value.text
  }

  /** @returns problems of the text, or `dialect.built-in` */
  async save(text: string): Promise<Result<{ readonly name: string; readonly replaced: boolean }>> {
    const read = readDialect(text, 'dialect')
    if (!read.ok) return read
    const { name } = read.value
    if (builtInChosen(name))
      return failed({
        code: 'dialect.built-in',
        field: 'name',
        message: `"${name}" is the name of a dialect that is built in, which stays as it is.`,
        remedy: 'Give yours another name.',
      })
    const names = await this.#fileNames()
    const fileName = name + ENDING
    const replaced = names.includes(fileName)
    if (!replaced && names.length >= MOST_FILES)
      return failed({ code: 'dialect.too-many', message: `There are ${MOST_FILES} dialects already.` })
    await fs.mkdir(this.folder, { recursive: true })
    await writeAtomically(join(this.folder, fileName), new TextEncoder().encode(writeDialect(read.value)))
    return succeeded({ name, replaced })
  }

  /** @throws ProblemError `dialect.unknown` */
  async remove(name: string): Promise<void> {
    if (!(await this.#fileNames()).includes(name + ENDING))
      throw new ProblemError({
        code: 'dialect.unknown',
        field: 'name',
        message: `There is no file of a dialect called "${name}".`,
      })
    await fs.rm(join(this.folder, name + ENDING), { force: true })
  }

  async #fileNames(): Promise<string[]> {
    try {
      const names = await fs.readdir(this.folder)
      return names
        .filter(n => n.endsWith(ENDING))
        .sort()
        .slice(0, MOST_FILES)
    } catch (error) {
      if (errorCode(error) === 'ENOENT') return []
      throw error
    }
  }

  async #read(fileName: string): Promise<Result<Extract<Chosen, { kind: 'data' }>>> {
    const path = join(this.folder, fileName)
    try {
      const about = await fs.stat(path)
      if (!about.isFile() || about.size > 4 * MOST_DIALECT_CHARACTERS)
        return failed({ code: 'dialect.too-large', file: fileName, message: 'This is no dialect file.' })
      const read = readDialect(await fs.readFile(path, 'utf8'), fileName)
      if (!read.ok) return read
      if (read.value.name + ENDING === fileName) return succeeded(chosenData(read.value))
      return failed({
        code: 'dialect.file-name',
        file: fileName,
        field: 'name',
        message: `The dialect in this file is called "${read.value.name}".`,
        expected: fileName.slice(0, -ENDING.length),
        remedy: `Rename the file to ${read.value.name}${ENDING}.`,
      })
    } catch (error) {
      return failed({
        code: 'file.unreadable',
        file: fileName,
        message: `The file cannot be read (${errorCode(error) || 'not known why'}).`,
      })
    }
  }
}
