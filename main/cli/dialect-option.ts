import { builtInChosen, builtInList, type Chosen, chosenData } from '../../shared/bench-run/chosen.ts'
import { MOST_DIALECT_CHARACTERS, readDialect } from '../../shared/dialect/schema.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { DialectFiles } from '../store/dialect-files.ts'
import { bad, need, notAnOption, readInput } from './input.ts'
import { named } from './near.ts'

const isFile = (text: string): boolean => /[/\\]|\.json$/i.test(text)
const WHAT = 'the name of a dialect, or a dialect file'

/**
 * A dialect file is recognised by being a path.
 * @returns undefined for a name, and for nothing
 * @throws BadInput for a file that is not there, or is no dialect
 */
export async function dialectOption(text: string | undefined): Promise<Chosen | undefined> {
  if (text === undefined) return undefined
  notAnOption(text, '--dialect', WHAT)
  if (!isFile(text)) return undefined
  const octets = await readInput(text, 4 * MOST_DIALECT_CHARACTERS)
  const read = readDialect(new TextDecoder().decode(octets), text)
  if (!read.ok && read.problems.some(isOfAnotherFormat))
    return bad({
      code: 'dialect.other-file',
      file: text,
      message: 'This is not a dialect file, but something else.',
      expected: 'JSON that says "format": "preflash-dialect"',
      remedy: 'Name another file; "preflash dialect xmodem-crc --file" prints one to make your own from.',
    })
  return chosenData(need(read))
}

/** One sentence for another file that was named by mistake, not one for each field that it lacks. */
const isOfAnotherFormat = ({ code, field }: Problem): boolean =>
  code === 'dialect.field' && field === 'format'

/** A dialect file, or one that needs none by its name; undefined for nothing. @throws BadInput for any other name */
export async function fileOrBuiltIn(text: string | undefined): Promise<Chosen | undefined> {
  const file = await dialectOption(text)
  if (file || text === undefined) return file
  const names = builtInList().map(d => d.name)
  return builtInChosen(namedDialect(text, 'a dialect', names))
}

/** @throws BadInput for a name that is none of these */
export const namedDialect = (text: string, what: string, names: readonly string[]): string =>
  named(text, {
    ...{ code: 'cli.dialect', field: '--dialect', what, names },
    remedy: 'A dialect file is named with its folder, as in ./mine.json.',
  })

/**
 * A name is one of the built-in dialects, the examples or the person's own; undefined, and a file, are passed over.
 * @throws BadInput for any other name, and for a dialect of one's own that cannot be read
 */
export async function checkDialectName(
  files: Pick<DialectFiles, 'find' | 'list'>,
  text: string | undefined,
): Promise<void> {
  if (text === undefined || isFile(text)) return
  const found = await files.find(text)
  if (found.ok) return
  if (found.problems[0].code !== 'dialect.unknown') need(found)
  const { dialects } = await files.list()
  namedDialect(
    text,
    'a dialect',
    dialects.map(d => d.name),
  )
}
