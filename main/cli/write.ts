import { Command } from 'commander'
import { ProblemsError } from '../../shared/api/serve.ts'
import { questionOf } from '../../shared/bench-run/cautions.ts'
import type { Chosen } from '../../shared/bench-run/chosen.ts'
import type { LaneReport, WriteEnding } from '../../shared/bench-run/lane.ts'
import { directToJson } from '../../shared/bench-run/plan-json.ts'
import type { WriteCheck } from '../../shared/bench-run/preconditions.ts'
import { type DirectPlan, directWrite } from '../../shared/bench-run/ready.ts'
import { BUS_DIALECT } from '../../shared/dialect/bus-write.ts'
import { ProblemError, succeeded } from '../../shared/model/problem.ts'
import { openPort } from '../serial/open-port.ts'
import { WriteDesk } from '../serial/write-desk.ts'
import { DialectFiles } from '../store/dialect-files.ts'
import { Logbook } from '../store/logbook.ts'
import { simulateHere } from '../work/simulate.ts'
import { checkBackupRoom } from './backup-room.ts'
import { FAMILY_OPTION, gather } from './choices.ts'
import { DATA_OPTION, usableDataFolder } from './data-folder.ts'
import { checkDialectName, dialectOption } from './dialect-option.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { need } from './input.ts'
import { keepGoing } from './output.ts'
import { Terminal } from './terminal.ts'
import { againCommand, recoveryText, refuseOfSession } from './write-again.ts'
import { checkBackupCan, checkBackupPlace, copyBackup } from './write-backup.ts'
import { confirmedWiring, directPlan, echoOption, expectOption } from './write-direct.ts'
import { baudOption, checkAnswers, refuseMixed } from './write-mixed.ts'
import { findPort, planOf, portOption } from './write-plan.ts'
import { ProgressTeller } from './write-progress.ts'
import { DIRECT_CAUTIONS, endingText, preconditionsText, questionText } from './write-text.ts'

export interface WriteOptions {
  readonly port?: string
  /** Without it, the usual one of the receiver's type. */
  readonly dialect?: string
  readonly image?: string
  readonly declare?: string
  readonly family?: string
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly adapter?: string
  readonly cable?: string
  readonly feed?: string
  readonly supply?: string
  readonly baud?: string
  readonly echo?: string
  readonly caution: readonly string[]
  readonly expect: readonly string[]
  readonly dropOutside?: boolean
  readonly backup?: string
  readonly recovers?: string
  readonly direct?: boolean
  readonly confirm?: string
  readonly address?: string
  readonly pageBytes?: string
  readonly check?: boolean
  readonly data?: string
  readonly json?: boolean
}

const HELP = `
Before the first octet is sent, wiring, supply, image, a rehearsal of this very plan and what you see on the table are
checked; --check says what holds and what is asked. Nothing overrides a supply that is the wrong way round. With
--direct, for a device on no bench, you answer for the wiring yourself.

Ctrl-C cancels at any moment, and says what the receiver is in.

Exit code: 0 the receiver runs the image, or took it (which of them is said); 1 it did not go through, or something
does not hold; 2 something that was named is not there.`

export function writeCommand(end: (ending: Ending) => void): Command {
  return new Command('write')
    .description('Write an image into a receiver through a serial programmer.')
    .option('--port <path>', 'the port: a path, HOST:PORT of a serial server, or the name that you gave it')
    .option(
      '--dialect <name-or-file>',
      'the way of writing, or a dialect file; without it, the usual one of the type of the receiver',
    )
    .option('--image <file-or-id>', 'an image file, or the id of an image on the bench')
    .option('--declare <what>', 'what an image without an image card is for: type=ID,version=X')
    .option(...FAMILY_OPTION)
    .option('--demo', 'on the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'on this bench file')
    .option('--receiver <id>', 'the receiver')
    .option('--adapter <id>', 'the adapter on the bench')
    .option('--cable <id>', 'the cable between them')
    .option('--feed <how>', 'what feeds the receiver: through-cable, own-supply or both')
    .option('--supply <id>', 'the supply of its own')
    .option('--baud <rate>', 'instead of the usual rate')
    .option('--echo <yes-or-no>', 'whether the line gives back what is sent, if the wiring does not tell')
    .option('--caution <name=answer>', 'what you see on the table; several times', gather, [])
    .option('--expect <field=value>', 'what the receiver must say of itself; several times', gather, [])
    .option('--drop-outside', 'leave out what lies outside program flash instead of refusing')
    .option('--backup <file>', 'copy what was read out before to this file, which must not be there yet')
    .option(
      '--recovers <session>',
      'this puts right the session of the logbook that broke off; with --direct and no image, by what that session wrote',
    )
    .option('--direct', 'a device on no bench; needs --confirm wiring')
    .option('--confirm <what>', 'with --direct: wiring')
    .option('--address <number>', 'with --direct: where a raw image goes')
    .option('--page-bytes <number>', 'with --direct: how large the pages are that are erased')
    .option('--check', 'only say what holds and what is asked')
    .option(...DATA_OPTION)
    .option('--json', 'print JSON')
    .addHelpText('after', HELP)
    .action(async (options: WriteOptions) => end(await run(options)))
}

async function run(options: WriteOptions): Promise<Ending> {
  refuseMixed(options)
  const folder = usableDataFolder(options.data)
  const logbook = new Logbook(folder)
  await checkBackupPlace(options.backup)
  const chosen = await dialectOption(options.dialect)
  const files = new DialectFiles(folder)
  await checkDialectName(files, options.dialect)
  const teller = new ProgressTeller(process.stderr)
  const onLane = (lane: LaneReport) => {
    if (!options.json) teller.tell(lane)
  }
  const desk = new WriteDesk({
    ...{ dataFolder: folder, logbook, openPort, onLane },
    dialects: chosen === undefined ? files : { find: async () => succeeded(chosen) },
    ports: { find: place => findPort(folder, place) },
    withFile: async image => image,
    simulate: simulateHere(),
    nowMs: () => performance.now(),
    date: () => new Date(),
  })
  try {
    if (isAgain(options)) return await directAgain(desk, options, options.recovers)
    if (options.direct)
      return await direct(desk, options, chosen ?? need(await files.find(options.dialect ?? BUS_DIALECT)))
    return await onBench(desk, options, chosen?.name ?? options.dialect)
  } catch (error) {
    if (error instanceof ProblemError) throw new BadInput([error.problem])
    if (error instanceof ProblemsError) throw new BadInput(error.problems)
    throw error
  } finally {
    await logbook.close()
  }
}

async function onBench(desk: WriteDesk, options: WriteOptions, dialect: string | undefined): Promise<Ending> {
  const plan = await planOf(options, dialect)
  const given = expectOption(options.caution, '--caution')
  const { ready, type } = await desk.planned(plan)
  checkBackupCan(options.backup, ready)
  await checkBackupRoom(ready, type.flash.programBytes, foldersOf(options))
  await desk.rehearse(plan, 1)
  const first = await desk.check(plan, given)
  if (first.planned) checkAnswers(given, first.cautions)
  const answers = options.check ? given : await ask(first, given, options)
  const check = await desk.check(plan, answers)
  if (options.check || !check.ready) return notYet(check, options)
  if (!options.json) process.stdout.write(`${check.rehearsed?.sentence ?? ''}\n`)
  return keepGoing(() => carryOut(desk, options, () => desk.start(plan, answers, options.recovers)))
}

const foldersOf = ({ backup, data }: WriteOptions) => ({ backup, dataFolder: usableDataFolder(data) })

/** A device on no bench is put right by what its session wrote. */
const isAgain = (options: WriteOptions): options is WriteOptions & { readonly recovers: string } =>
  options.direct === true && options.recovers !== undefined && options.image === undefined

async function directAgain(desk: WriteDesk, options: WriteOptions, sessionId: string): Promise<Ending> {
  confirmedWiring(options)
  refuseOfSession(options)
  const change = { baud: baudOption(options.baud), echo: echoOption(options.echo) }
  portOption(options)
  const { direct, chosen, recovery } = await desk.directRecovery(sessionId, change)
  return keepGoing(() => {
    process.stderr.write(recoveryText(sessionId, recovery))
    return carryOutDirect(desk, options, direct, chosen)
  })
}

async function direct(desk: WriteDesk, options: WriteOptions, chosen: Chosen): Promise<Ending> {
  return carryOutDirect(desk, options, await directPlan(options, chosen), chosen)
}

async function carryOutDirect(
  desk: WriteDesk,
  options: WriteOptions,
  plan: DirectPlan,
  chosen: Chosen,
): Promise<Ending> {
  const port = await desk.port(portOption(options))
  const ready = directWrite(plan)
  checkBackupCan(options.backup, ready)
  await checkBackupRoom(ready, plan.backup?.octets ?? 0, foldersOf(options))
  process.stderr.write(DIRECT_CAUTIONS)
  const wish = {
    ready,
    port,
    rehearsed: null,
    planned: directToJson(plan, chosen.text),
    recovers: options.recovers,
    afterwards: [],
  }
  return keepGoing(() => carryOut(desk, options, () => desk.startWish(wish)))
}

function notYet(
  { ready, preconditions, cautions, rehearsed, planned }: WriteCheck,
  options: WriteOptions,
): Ending {
  const questions = cautions.map(questionOf)
  const key = planned?.key ?? null
  process.stdout.write(
    options.json
      ? `${JSON.stringify({ ready, key, preconditions, questions, rehearsed: rehearsed ?? null }, null, 2)}\n`
      : `${preconditionsText(preconditions)}${ready ? '' : `\n${questions.map(questionText).join('')}\nNothing was sent.\n`}`,
  )
  return ready ? EXIT.done : EXIT.negative
}

/** At a terminal, what was not answered yet is asked. */
async function ask(
  { cautions }: WriteCheck,
  given: Record<string, string>,
  { json }: WriteOptions,
): Promise<Record<string, string>> {
  const open = cautions.filter(c => given[c.id] === undefined)
  if (json || !process.stdin.isTTY || open.length === 0) return given
  const terminal = new Terminal(process)
  const answers = { ...given }
  try {
    for (const { id, question, look, choices } of open) {
      terminal.say('', question, look, ...choices.map((c, i) => `${i + 1}. ${c.label}`))
      const said = await terminal.hear('Number')
      const choice = choices[Number(said) - 1]
      if (choice) answers[id] = choice.id
    }
  } finally {
    terminal.close()
  }
  return answers
}

const STOPS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

async function carryOut(
  desk: WriteDesk,
  options: WriteOptions,
  start: () => Promise<{ lane: string; ended: Promise<WriteEnding> }>,
): Promise<Ending> {
  let lane: string | undefined
  let isWanted = true
  const cancel = () => {
    isWanted = false
    if (lane !== undefined && desk.lanes.cancel(lane) && !options.json)
      process.stderr.write('\nCancelling …\n')
  }
  // Before it starts, so that no moment is left at which the program would just end; a closed window cancels too.
  for (const signal of STOPS) process.on(signal, cancel)
  try {
    const started = await start()
    lane = started.lane
    if (!isWanted) cancel()
    const end = await started.ended
    const report = desk.lanes.report(lane)
    const sessionId = report?.sessionId ?? null
    const again = againCommand(end, report, options, process.argv.slice(2))
    const copied = await copyBackup(end, options.backup)
    if (!copied.ok) process.stderr.write(`${copied.problems[0].message}\n`)
    process.stdout.write(
      options.json
        ? `${JSON.stringify({ sessionId, proven: end.outcome === 'updated', ...end, again: again ?? null, lane: report }, null, 2)}\n`
        : `\n${endingText(end, { sessionId, receiverId: report?.receiver?.id, again })}`,
    )
    return end.outcome === 'updated' || end.outcome === 'unproven' ? EXIT.done : EXIT.negative
  } finally {
    // The second of two signals may come only now, while what is left is put away.
    if (isWanted) for (const signal of STOPS) process.off(signal, cancel)
  }
}
