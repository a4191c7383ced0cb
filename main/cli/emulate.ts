import { createInterface } from 'node:readline'
import { Command } from 'commander'
import { type Dialect, MOST_DIALECT_CHARACTERS, readDialect } from '../../shared/dialect/schema.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { type Emulation, findLiveDialect, layEmulation } from '../../shared/rehearse/emulate.ts'
import type { PaceMode } from '../../shared/sim/live.ts'
import { Emulator, type EmulatorEnd } from '../serial/emulator.ts'
import { Keeper, loadKept } from '../serial/kept-receiver.ts'
import { openPort } from '../serial/open-port.ts'
import type { OpenPort } from '../serial/port.ts'
import { makePortPair, type PortPair } from '../serial/port-pair.ts'
import { defaultReceiver, faultChoice, gather, seedOption } from './choices.ts'
import { beginText, endText, lineText, listing, listingText, Teller } from './emulate-text.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad, benchFrom, need, readInput } from './input.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly dialect: string
  readonly port?: string
  readonly fault: readonly string[]
  readonly seed: string
  readonly echo?: boolean
  readonly pace: string
  readonly state?: string
  readonly once?: boolean | string
  readonly talksFirst?: boolean
  readonly json?: boolean
  readonly list?: boolean
}

/** Longer than the pause that an update makes before it tries again. */
const QUIET_SECONDS = 5
const MOST_QUIET_SECONDS = 3600

export function emulateCommand(end: (ending: Ending) => void): Command {
  return new Command('emulate')
    .description('Play a simulated receiver on a serial port, for training and for tests.')
    .option('--dialect <name>', 'what it speaks: a name (see --list), or a dialect file', 'preflash-bus')
    .option('--port <path>', 'the port to play it on; "new" makes a pair of ports and says the other end')
    .option('--demo', 'a receiver of the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'a receiver of this bench file')
    .option('--receiver <id>', 'which receiver')
    .option('--fault <name[=value]>', 'let this go wrong; may be given several times', gather, [])
    .option('--seed <n>', 'seed of the dice, 0 to 4294967295', '1')
    .option('--echo', 'on a single wire, on which the host hears itself; some dialects are so anyway')
    .option('--pace <how>', 'line: octets take the time that the line takes; none: hardly any', 'line')
    .option('--talks-first', 'the bus is polled before the host says anything; not for pairs of ports')
    .option('--state <file>', 'keep what the receiver holds in this file, and begin with it the next time')
    .option('--once [seconds]', `end when the host has been quiet for so long (${QUIET_SECONDS})`)
    .option('--json', 'print each thing that happens as a line of JSON')
    .option('--list', 'name the dialects and the faults')
    .action(async (options: Options) => end(await run(options)))
}

async function run(options: Options): Promise<Ending> {
  if (options.list) {
    process.stdout.write(options.json ? `${JSON.stringify(listing(), null, 2)}\n` : listingText())
    return EXIT.done
  }
  if (options.port === undefined)
    return bad({
      code: 'cli.port',
      field: '--port',
      message: 'No port is named.',
      expected: 'a path such as /dev/ttyUSB0, or "new" for a pair of ports made for this',
    })
  try {
    return await play(options, options.port)
  } catch (error) {
    if (error instanceof ProblemError) throw new BadInput([error.problem])
    throw error
  }
}

async function play(options: Options, where: string): Promise<Ending> {
  const bench = await benchFrom(options)
  const quietEndsMs = quietOption(options.once)
  const emulation = need(
    layEmulation({
      bench,
      receiverId: options.receiver ?? defaultReceiver(bench),
      dialect: await dialectOption(options.dialect),
      seed: seedOption(options.seed),
      faults: options.fault.map(faultChoice),
      echo: options.echo,
      pace: paceOption(options.pace),
      ...(options.talksFirst ? { talksFirst: true } : {}),
      ...(await keptState(options.state)),
    }),
  )
  const pair = where === 'new' ? await makePortPair() : undefined
  try {
    const port = await openPort({ kind: 'local', path: pair?.ours ?? where }, emulation.line)
    return await playOn(port, emulation, { options, quietEndsMs, where, pair })
  } finally {
    await pair?.end()
  }
}

interface Around {
  readonly options: Options
  readonly quietEndsMs: number | undefined
  readonly where: string
  readonly pair: PortPair | undefined
}

async function playOn(port: OpenPort, emulation: Emulation, around: Around): Promise<Ending> {
  const { options, quietEndsMs } = around
  const { live, type, memory } = emulation
  const keeper = options.state === undefined ? undefined : new Keeper(options.state, type.id, memory)
  const emulator = new Emulator({
    port,
    live,
    unplugAfterMs: emulation.unplugAfterMs,
    quietEndsMs,
    talksFirst: emulation.talksFirst,
  })
  sayBegin(emulation, around)
  const teller = new Teller()
  live.device.trace.watch = told => {
    if (told.told === 'flash' || told.told === 'event') keeper?.changed()
    const line = teller.tell(told)
    if (line) say(options, { event: 'told', ...line }, `${lineText(line)}\n`)
  }
  const release = listenToPerson(emulator)
  const end = await emulator.ended
  release()
  await keeper?.done()
  return sayEnd(emulation, end, options)
}

function sayBegin(emulation: Emulation, { options, where, pair }: Around): void {
  const { dialect, unit, type, line } = emulation
  const port = pair?.ours ?? where
  const ready = {
    event: 'ready',
    dialect: dialect.name,
    receiver: unit.id,
    typeId: type.id,
    port,
    hostPort: pair?.theirs ?? null,
    line,
    held: emulation.held(),
  }
  say(options, ready, beginText(emulation, port, pair?.theirs, process.stdin.isTTY))
}

function sayEnd(emulation: Emulation, end: EmulatorEnd, options: Options): Ending {
  const held = emulation.held()
  say(options, { event: 'end', ...end, held }, endText(end, held))
  const isWell = held.outcome === 'updated' || held.outcome === 'unchanged'
  return isWell && end.why !== 'port-lost' ? EXIT.done : EXIT.negative
}

function say(options: Options, json: object, text: string): void {
  process.stdout.write(options.json ? `${JSON.stringify(json)}\n` : text)
}

/** Ends with Ctrl+C; at a terminal, the Enter key switches the receiver off and on. @returns how to stop listening */
function listenToPerson(emulator: Emulator): () => void {
  const stop = () => void emulator.stop()
  process.once('SIGINT', stop)
  process.once('SIGTERM', stop)
  const keys = process.stdin.isTTY ? createInterface({ input: process.stdin }) : undefined
  keys?.on('line', () => emulator.powerCycle())
  keys?.on('SIGINT', stop)
  return () => {
    process.off('SIGINT', stop)
    process.off('SIGTERM', stop)
    keys?.close()
  }
}

/** A name as it is; a path is read. */
async function dialectOption(text: string): Promise<string | Dialect> {
  if (findLiveDialect(text) !== undefined || !/[./\\]/.test(text)) return text
  const octets = await readInput(text, MOST_DIALECT_CHARACTERS)
  return need(readDialect(new TextDecoder().decode(octets), text))
}

async function keptState(path: string | undefined) {
  const state = path === undefined ? undefined : await loadKept(path)
  return state === undefined ? {} : { state }
}

function paceOption(text: string): PaceMode {
  if (text === 'line') return 'line'
  if (text === 'none') return 'unpaced'
  return bad({
    code: 'cli.pace',
    field: '--pace',
    message: `"${text}" is not understood.`,
    expected: 'line or none',
  })
}

function quietOption(once: boolean | string | undefined): number | undefined {
  if (once === undefined || once === false) return undefined
  const seconds = once === true ? QUIET_SECONDS : Number(once)
  if (seconds > 0 && seconds <= MOST_QUIET_SECONDS) return seconds * 1000
  return bad({
    code: 'cli.once',
    field: '--once',
    message: `"${String(once)}" is not a time.`,
    expected: `seconds, more than 0 and at most ${MOST_QUIET_SECONDS}`,
  })
}
