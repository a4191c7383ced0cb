import { Command } from 'commander'
import type { DialectListed } from '../../shared/api/dialects.ts'
import { type Chosen, listed } from '../../shared/bench-run/chosen.ts'
import { testDialect } from '../../shared/dialect/exchange.ts'
import type { ExchangeReport } from '../../shared/dialect/exchange-report.ts'
import { MOST_EXCHANGE_CHARACTERS } from '../../shared/dialect/exchange-text.ts'
import { type Dialect, dialectJsonSchema } from '../../shared/dialect/schema.ts'
import { DialectFiles } from '../store/dialect-files.ts'
import { DATA_OPTION, usableDataFolder } from './data-folder.ts'
import { dialectOption } from './dialect-option.ts'
import { brokenText, dialectText, exchangeText, listText } from './dialect-text.ts'
import { type Ending, EXIT } from './ending.ts'
import { bad, need, readInput } from './input.ts'

interface Options {
  readonly exchange?: string
  readonly file?: boolean
  readonly schema?: boolean
  readonly data?: string
  readonly json?: boolean
}

const HELP = `
Without a name, the dialects that are there. An exchange is recorded or typed, a turn a line: → (or >) before what goes
to the receiver, ← (or <) before what comes from it, octets in hexadecimal; what follows # is passed over.

Exit code: 0 the dialect can be read, and agrees with the exchange; 1 it does not agree; 2 what was named is not there,
or is no dialect, or no exchange.`

export function dialectCommand(end: (ending: Ending) => void): Command {
  return new Command('dialect')
    .description('Look at a dialect, check the file of one, hold it against an exchange.')
    .argument('[name-or-file]', 'a name of the list, or a dialect file')
    .option('--exchange <file>', 'hold it against this exchange, octet for octet')
    .option('--file', 'print it as a dialect file, to make one of your own from')
    .option('--schema', 'print the JSON Schema of dialect files, for text editors')
    .option(...DATA_OPTION)
    .option('--json', 'print JSON')
    .addHelpText('after', HELP)
    .action(async (name: string | undefined, options: Options) => end(await run(name, options)))
}

async function run(name: string | undefined, options: Options): Promise<Ending> {
  if (options.schema) return say(json(dialectJsonSchema()))
  const files = new DialectFiles(usableDataFolder(options.data))
  if (name === undefined) return list(files, options)
  const file = await dialectOption(name)
  const chosen = file ?? need(await files.find(name))
  if (options.file) return say(dataOf(chosen, '--file').text)
  if (options.exchange !== undefined) return compare(dataOf(chosen, '--exchange').dialect, options)
  const one = file?.kind === 'data' ? listed(file.dialect, 'file') : await ofTheList(files, name)
  return say(options.json ? json(one) : dialectText(one))
}

async function list(files: DialectFiles, options: Options): Promise<Ending> {
  if (options.exchange !== undefined || options.file)
    return bad({
      code: 'cli.dialect',
      field: 'name-or-file',
      message: 'No dialect is named.',
      expected: 'a name of the list, or a dialect file',
    })
  const { dialects, broken } = await files.list()
  if (!options.json) process.stderr.write(brokenText(broken))
  return say(options.json ? json({ dialects, broken }) : listText(dialects))
}

async function compare(dialect: Dialect, options: Options): Promise<Ending> {
  const path = options.exchange ?? ''
  const text = new TextDecoder().decode(await readInput(path, 4 * MOST_EXCHANGE_CHARACTERS))
  const report: ExchangeReport = need(testDialect(dialect, text, path))
  say(options.json ? json(report) : exchangeText(report))
  return report.agrees ? EXIT.done : EXIT.negative
}

/** @throws BadInput for the Preflash bus, which is no data */
function dataOf(chosen: Chosen, field: string): Extract<Chosen, { kind: 'data' }> {
  if (chosen.kind === 'data') return chosen
  return bad({
    code: 'dialect.no-data',
    field,
    message: 'The Preflash bus is no data: the same procedure that a rehearsal carries out speaks it.',
    remedy: 'Name another dialect.',
  })
}

async function ofTheList(files: DialectFiles, name: string): Promise<DialectListed> {
  const found = (await files.list()).dialects.find(d => d.name === name)
  if (found === undefined) throw new Error(`${name} was found a moment ago`)
  return found
}

const json = (value: unknown): string => `${JSON.stringify(value, null, 2)}\n`

function say(text: string): Ending {
  process.stdout.write(text)
  return EXIT.done
}
