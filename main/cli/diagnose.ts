import { Command } from 'commander'
import { CAUSES } from '../../shared/diagnose/causes.ts'
import { diagnose } from '../../shared/diagnose/diagnose.ts'
import { FACTS } from '../../shared/diagnose/facts.ts'
import {
  type Answer,
  answerSchema,
  type Diagnosis,
  type DiagnosisRequest,
  diagnosisRequestSchema,
  SYMPTOMS,
  type SymptomId,
  symptomSchema,
} from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import type { Route } from '../../shared/model/units.ts'
import { Logbook } from '../store/logbook.ts'
import { defaultReceiver, routeOption } from './choices.ts'
import { DATA_OPTION, usableDataFolder } from './data-folder.ts'
import { countsFrom, keeper } from './diagnose-log.ts'
import { type Given, type Keep, talk } from './diagnose-talk.ts'
import { listing, listingText } from './diagnose-text.ts'
import { train } from './diagnose-train.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad, benchFrom, need } from './input.ts'
import { named } from './near.ts'
import { type Streams, Terminal } from './terminal.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly symptom?: string
  readonly route?: string
  readonly image?: string
  readonly fact: readonly string[]
  readonly tried: readonly string[]
  readonly putOff: readonly string[]
  readonly json?: boolean
  readonly list?: boolean
  readonly train?: boolean
  readonly seed?: string
  readonly data?: string
  readonly log: boolean
}

const gather = (value: string, previous: readonly string[]) => [...previous, value]

/** @param streams where the conversation is held; the program's own where nothing else is said */
export function diagnoseCommand(end: (ending: Ending) => void, streams: Streams = process): Command {
  return new Command('diagnose')
    .description('Find out why an update does not work: causes, the next look worth taking, the repair.')
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option('--receiver <id>', 'the receiver that gives trouble')
    .option('--symptom <name>', 'what is seen; without it the conversation asks')
    .option('--route <route>', 'which way the update went: cable or wireless')
    .option('--image <id>', 'the image on the bench that was to go in')
    .option(
      '--fact <name=answer>',
      'what has been looked up: yes, no or cannot-check; may be given several times',
      gather,
      [],
    )
    .option('--tried <cause>', 'a cause that was put right in vain; may be given several times', gather, [])
    .option(
      '--put-off <cause>',
      'a cause that cannot be put right now; may be given several times',
      gather,
      [],
    )
    .option('--json', 'print the diagnosis as JSON, and ask nothing')
    .option('--list', 'name the symptoms, facts and causes')
    .option('--train', 'practise: find what is hidden on a simulated table')
    .option('--seed <number>', 'with --train: which one is hidden; the same number hides the same', '1')
    .option(...DATA_OPTION)
    .option('--no-log', 'leave the logbook alone: count nothing from it, and write nothing into it')
    .action(async (options: Options) => end(await run(options, streams)))
}

async function run(options: Options, streams: Streams): Promise<Ending> {
  if (options.list) {
    streams.stdout.write(options.json ? asText(listing()) : listingText())
    return EXIT.done
  }
  const folder = options.log && !options.train ? usableDataFolder(options.data) : undefined
  const bench = await benchFrom(options)
  if (options.train) return practise(bench, options, streams)
  const symptom = options.symptom === undefined ? undefined : symptomOption(options.symptom)
  const route = options.route === undefined ? undefined : routeFor(routeOption(options.route), symptom)
  const given: Given = {
    bench,
    receiverId: receiverOption(bench, options.receiver),
    route,
    imageId: options.image === undefined ? undefined : imageOption(bench, options.image),
    answers: answersOf(options.fact),
    tried: options.tried.map(id => causeOption(id, '--tried')),
    putOff: options.putOff.map(id => causeOption(id, '--put-off')),
    counts: {},
    secondTries: [],
  }
  if (folder === undefined) return find(given, symptom, options, streams)
  const logbook = new Logbook(folder)
  try {
    const known = await countsFrom(logbook, bench, line => process.stderr.write(`${line}\n`))
    return await find({ ...given, ...known }, symptom, options, streams, keeper(logbook, bench))
  } finally {
    await logbook.close()
  }
}

async function find(
  given: Given,
  symptom: SymptomId | undefined,
  options: Options,
  streams: Streams,
  keep?: Keep,
): Promise<Ending> {
  if (!options.json) return converse(given, symptom, streams, keep)
  const request = { ...given, symptom: symptom ?? symptomOption('') }
  const diagnosis = need(withOptions(diagnose(checked(request))))
  streams.stdout.write(asText(asJson(diagnosis, request)))
  return diagnosis.causes.length > 0 ? EXIT.done : EXIT.negative
}

async function practise(bench: Bench, options: Options, streams: Streams): Promise<Ending> {
  const terminal = new Terminal(streams)
  try {
    const receiverId = receiverOption(bench, options.receiver)
    return await train(terminal, bench, receiverId, seedOption(options.seed ?? '1'))
  } finally {
    terminal.close()
  }
}

function seedOption(text: string): number {
  const seed = Number(text)
  if (/^\d{1,10}$/.test(text) && seed <= 0xffff_ffff) return seed
  return bad({
    code: 'cli.seed',
    field: '--seed',
    message: `"${text}" is not a number that can be hidden under.`,
    expected: 'a whole number from 0 to 4294967295',
  })
}

async function converse(
  given: Given,
  symptom: SymptomId | undefined,
  streams: Streams,
  keep: Keep | undefined,
): Promise<Ending> {
  const terminal = new Terminal(streams)
  try {
    // What is wrong with the receiver or the answers named is said before anything is asked.
    need(withOptions(diagnose(checked({ ...given, symptom: symptom ?? SYMPTOMS[0] }))))
    return await talk(terminal, given, symptom, keep)
  } finally {
    terminal.close()
  }
}

const asText = (value: unknown) => `${JSON.stringify(value, null, 2)}\n`

/** What the contract would not take, such as too many answers, is bad input here too. @throws BadInput */
function checked(request: DiagnosisRequest): DiagnosisRequest {
  // The bench has been checked as it was read.
  const parsed = diagnosisRequestSchema.omit({ bench: true }).safeParse(request)
  if (parsed.success) return request
  throw new BadInput(
    parsed.error.issues.map(issue => ({
      code: 'cli.diagnose',
      field: optionOf(String(issue.path[0])),
      message: `This cannot be diagnosed: ${issue.message}.`,
    })),
  )
}

/** By field of the request, the option that it comes from. */
const OPTIONS: Readonly<Record<string, string>> = {
  receiver: '--receiver',
  image: '--image',
  answers: '--fact',
  tried: '--tried',
  putOff: '--put-off',
}
const optionOf = (field: string): string | undefined =>
  Object.hasOwn(OPTIONS, field) ? OPTIONS[field] : undefined

/** Names the option where the engine names its own field. */
function withOptions<T>(result: Result<T>): Result<T> {
  if (result.ok) return result
  const option = (field: string | undefined) => (field === undefined ? field : (optionOf(field) ?? field))
  return {
    ok: false,
    problems: result.problems.map((p): Problem => ({ ...p, field: option(p.field) })),
  }
}

function symptomOption(text: string): SymptomId {
  const parsed = symptomSchema.safeParse(text)
  if (parsed.success) return parsed.data
  if (text === '')
    return bad({
      code: 'cli.symptom',
      field: '--symptom',
      message: 'With --json nothing is asked, so what is seen has to be said.',
      expected: `one of ${SYMPTOMS.join(', ')}`,
    })
  named(text, { code: 'cli.symptom', field: '--symptom', what: 'a symptom', names: SYMPTOMS, remedy: LIST })
  return SYMPTOMS[0]
}

const LIST = 'Name them all with: diagnose --list'

/** @throws BadInput where the symptom cannot come by that route */
function routeFor(route: Route, symptom: SymptomId | undefined): Route {
  if (symptom === undefined || symptomWords[symptom].routes.includes(route)) return route
  return bad({
    code: 'cli.route',
    field: '--route',
    message: `The symptom "${symptom}" is not seen by the route "${route}".`,
    expected: symptomWords[symptom].routes.join(' or '),
  })
}

function receiverOption(bench: Bench, given: string | undefined): string {
  if (given === undefined) return defaultReceiver(bench)
  const names = bench.receivers.map(r => r.id)
  return named(given, {
    code: 'bench.no-receiver',
    field: '--receiver',
    what: 'a receiver on this bench',
    names,
  })
}

function imageOption(bench: Bench, given: string): string {
  const names = bench.images.map(i => i.id)
  return named(given, { code: 'image.unknown', field: '--image', what: 'an image on this bench', names })
}

const causeOption = (given: string, field: '--tried' | '--put-off'): string =>
  named(given, {
    code: field === '--tried' ? 'cli.tried' : 'cli.put-off',
    field,
    what: 'a cause',
    names: CAUSES.map(c => c.id),
    remedy: LIST,
  })

function answersOf(given: readonly string[]): Record<string, Answer> {
  const answers = new Map<string, Answer>()
  for (const text of given) {
    const at = text.indexOf('=')
    const id = named(at < 0 ? text : text.slice(0, at), {
      code: 'cli.fact',
      field: '--fact',
      what: 'a fact',
      names: FACTS.map(f => f.id),
      remedy: LIST,
    })
    const parsed = answerSchema.safeParse(at < 0 ? undefined : text.slice(at + 1))
    if (!parsed.success)
      return bad({
        code: 'cli.fact-answer',
        field: '--fact',
        message:
          at < 0 ? `"${id}" has no answer.` : `"${text.slice(at + 1, at + 41)}" is no answer to "${id}".`,
        expected: answerSchema.options.map(one => `${id}=${one}`).join(', '),
      })
    if ((answers.get(id) ?? parsed.data) !== parsed.data)
      bad({
        code: 'cli.fact-twice',
        field: '--fact',
        message: `"${id}" is answered twice, and not alike.`,
        expected: 'one answer for each fact',
      })
    answers.set(id, parsed.data)
  }
  return Object.fromEntries(answers)
}

/** The diagnosis as the command line gives it: what to do next under the name of what it is. */
function asJson(diagnosis: Diagnosis, { answers, tried, putOff }: DiagnosisRequest) {
  const { symptom, route, receiver, causes, facts, next, counted } = diagnosis
  const { do: kind, ...step } = next
  return {
    symptom,
    route,
    receiver,
    causes,
    counted,
    nextCheck: kind === 'look' ? step : null,
    repair: kind === 'repair' ? step : null,
    ask: kind === 'ask' ? step.why : null,
    facts,
    // Said so that nobody takes a fact that tells nothing here for one that was weighed.
    factsNotUsed: Object.keys(answers).filter(id => !facts.some(fact => fact.id === id)),
    tried,
    putOff,
  }
}
