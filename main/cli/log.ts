import { writeFile } from 'node:fs/promises'
import { Command } from 'commander'
import { replaySession } from '../../shared/bench-run/replay.ts'
import { type SessionKind, sessionKindSchema } from '../../shared/logbook/session.ts'
import { MAX_SESSION_FILE_CHARACTERS, readSessionFile } from '../../shared/logbook/session-file.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import type { Journal } from '../store/journal.ts'
import { Logbook } from '../store/logbook.ts'
import { DATA_OPTION, usableDataFolder } from './data-folder.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad, need, readInput } from './input.ts'
import { listText, replayText, sessionText } from './log-text.ts'
import { named } from './near.ts'

interface Options {
  readonly data?: string
  readonly json?: boolean
  readonly receiver?: string
  readonly kind?: string
  readonly limit: string
  readonly before?: string
  readonly interrupted?: boolean
  readonly export?: string
  readonly out?: string
  readonly import?: string
  readonly replay?: string
}

/** Where it writes to. */
export interface Sinks {
  readonly stdout: { write(text: string): unknown }
  readonly stderr: { write(text: string): unknown }
}

const HELP = `
SESSION is the id of a session, or its beginning. Without one the latest sessions are listed.
Exit code: 0 done; 1 a replay went another way; 2 there is no such session, or the logbook cannot be read.`

export function logCommand(end: (ending: Ending) => void, sinks: Sinks = process): Command {
  return new Command('log')
    .description('What was done and found: list it, show one session, export it, take one over.')
    .argument('[session]', 'the session to show')
    .option('--receiver <id>', 'only those of this receiver')
    .option('--kind <kind>', 'only those of this kind: write, guided or diagnosis')
    .option('--limit <number>', 'how many, 1 to 1000', '50')
    .option('--before <session>', 'only those that began before this one')
    .option('--interrupted', 'only those that did not come to their end, whose program is gone')
    .option('--export <session>', 'print one session as a file by itself')
    .option('--out <file>', 'with --export: write it into this file, which must not be there yet')
    .option('--import <file>', 'take over a session that was exported')
    .option(
      '--replay <file>',
      'carry an exported write out again without hardware, with the recorded answers',
    )
    .option(...DATA_OPTION)
    .option('--json', 'print JSON')
    .addHelpText('after', HELP)
    .action(async (session: string | undefined, options: Options) => {
      end(await run(session, options, sinks))
    })
}

async function run(session: string | undefined, options: Options, sinks: Sinks): Promise<Ending> {
  const whatFor = [session, options.export, options.import, options.replay, options.interrupted]
  if (whatFor.filter(given => given !== undefined).length > 1)
    return bad({
      code: 'cli.log',
      message:
        'Only one of SESSION, --export, --import, --replay and --interrupted can be asked for at once.',
    })
  if (options.out !== undefined && options.export === undefined)
    return bad({ code: 'cli.out', field: '--out', message: '--out says where --export writes to.' })
  const logbook = new Logbook(usableDataFolder(options.data))
  try {
    if (options.replay !== undefined) return await replay(options.replay, options, sinks)
    if (options.import !== undefined) return await take(logbook, options.import, options, sinks)
    if (options.export !== undefined) return await exported(logbook, options.export, options, sinks)
    if (session !== undefined) return await show(logbook, session, options, sinks)
    return await list(logbook, options, sinks)
  } catch (error) {
    throw error instanceof ProblemError ? new BadInput([error.problem]) : error
  } finally {
    await logbook.close()
  }
}

const asText = (value: unknown) => `${JSON.stringify(value, null, 2)}\n`

async function list(logbook: Logbook, options: Options, { stdout, stderr }: Sinks): Promise<Ending> {
  const limit = limitOption(options.limit)
  const kind = options.kind === undefined ? undefined : kindOption(options.kind)
  const page = await logbook.look(
    journal => {
      complain(journal, stderr)
      if (options.interrupted) return { sessions: journal.interrupted(), next: null }
      const before = options.before === undefined ? undefined : whole(journal, options.before, '--before')
      return journal.sessions({ limit, before, receiverId: options.receiver, kind })
    },
    { sessions: [], next: null },
  )
  stdout.write(options.json ? asText(page) : listText(page.sessions, page.next))
  return EXIT.done
}

async function show(logbook: Logbook, id: string, options: Options, sinks: Sinks): Promise<Ending> {
  const logged = await looked(logbook, id, 'SESSION', sinks, (journal, whole) => journal.session(whole))
  sinks.stdout.write(options.json ? asText(logged) : sessionText(logged))
  return EXIT.done
}

async function exported(logbook: Logbook, id: string, options: Options, sinks: Sinks): Promise<Ending> {
  const text = await looked(logbook, id, '--export', sinks, (journal, whole) => journal.exportSession(whole))
  const { out } = options
  if (out === undefined) {
    sinks.stdout.write(text)
    return EXIT.done
  }
  await writeFile(out, text, { flag: 'wx' }).catch((error: NodeJS.ErrnoException) =>
    bad({
      code: 'file.not-written',
      file: out,
      field: '--out',
      message:
        error.code === 'EEXIST'
          ? 'There is a file of this name already.'
          : `It cannot be written (${error.code}).`,
      remedy: 'Choose another name or folder.',
    }),
  )
  if (options.json) sinks.stdout.write(asText({ file: out }))
  return EXIT.done
}

async function take(logbook: Logbook, file: string, options: Options, sinks: Sinks): Promise<Ending> {
  const octets = await readInput(file, 4 * MAX_SESSION_FILE_CHARACTERS)
  const text = new TextDecoder().decode(octets)
  const taken = await logbook.use(journal => {
    complain(journal, sinks.stderr)
    return need(journal.importSession(text, file))
  })
  const said = taken.isNew ? 'Taken over' : 'It was in the logbook already'
  sinks.stdout.write(options.json ? asText(taken) : `${said}: ${taken.id}\n`)
  return EXIT.done
}

async function replay(file: string, options: Options, { stdout }: Sinks): Promise<Ending> {
  const octets = await readInput(file, 4 * MAX_SESSION_FILE_CHARACTERS)
  const done = need(replaySession(need(readSessionFile(new TextDecoder().decode(octets), file))))
  stdout.write(options.json ? asText({ ...done, end: endOf(done.end) }) : replayText(done))
  return done.same ? EXIT.done : EXIT.negative
}

/** A backup is long, and lies elsewhere. */
const endOf = <T extends { readonly backup: unknown }>(end: T | null) => end && { ...end, backup: undefined }

/** What was set aside is told, and the rest goes on. */
function complain({ problem }: Journal, stderr: Sinks['stderr']): void {
  if (problem !== undefined) stderr.write(`${sayProblem(problem)}\n`)
}

async function looked<T>(
  logbook: Logbook,
  id: string,
  field: string,
  { stderr }: Sinks,
  work: (journal: Journal, id: string) => T,
): Promise<T> {
  const found = await logbook.look<{ readonly value: T } | undefined>(journal => {
    complain(journal, stderr)
    return { value: work(journal, whole(journal, id, field)) }
  }, undefined)
  return found === undefined ? noSession(id, field, 'The logbook is empty.') : found.value
}

const noSession = (id: string, field: string, remedy = 'List the sessions with: preflash log'): never =>
  bad({
    code: 'logbook.no-session',
    field,
    message: `There is no session "${id.slice(0, 60)}" in the logbook.`,
    remedy,
  })

/** The id that begins so. */
function whole(journal: Journal, beginning: string, field: string): string {
  const [id, other] = journal.idsLike(beginning.toLowerCase())
  if (id === undefined || beginning === '') return noSession(beginning, field)
  if (other === undefined || id === beginning) return id
  return bad({
    code: 'logbook.several',
    field,
    message: `Several sessions begin with "${beginning}".`,
    expected: `more of the id, as in ${id} or ${other}`,
  })
}

function limitOption(text: string): number {
  const limit = Number(text)
  if (/^\d{1,4}$/.test(text) && limit >= 1 && limit <= 1_000) return limit
  return bad({
    code: 'cli.limit',
    field: '--limit',
    message: `"${text}" is not a number of sessions.`,
    expected: 'a whole number from 1 to 1000',
  })
}

function kindOption(text: string): SessionKind {
  const names = sessionKindSchema.options
  const kind = named(text, { code: 'cli.kind', field: '--kind', what: 'a kind of session', names })
  return sessionKindSchema.parse(kind)
}
