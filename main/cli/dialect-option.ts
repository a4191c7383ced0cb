import { builtInChosen, builtInList, type Chosen, chosenData } from '../../shared/bench-run/chosen.ts'
import { MOST_DIALECT_CHARACTERS, readDialect } from '../../shared/dialect/schema.ts'
import { need, readInput } from './input.ts'
import { named } from './near.ts'

/** A dialect file is recognised by being a path; undefined for a name, and for nothing. @throws BadInput */
export async function dialectOption(text: string | undefined): Promise<Chosen | undefined> {
  if (text === undefined || !/[/\\]|\.json$/.test(text)) return undefined
  const octets = await readInput(text, 4 * MOST_DIALECT_CHARACTERS)
  return chosenData(need(readDialect(new TextDecoder().decode(octets), text)))
}

/** A dialect file, or one that needs none by its name; undefined for nothing. @throws BadInput for any other name */
export async function fileOrBuiltIn(text: string | undefined): Promise<Chosen | undefined> {
  const file = await dialectOption(text)
  if (file || text === undefined) return file
  const names = builtInList().map(d => d.name)
  return builtInChosen(named(text, { code: 'cli.dialect', field: '--dialect', what: 'a dialect', names }))
}
