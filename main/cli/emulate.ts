import { createInterface } from 'node:readline'
import { Command } from 'commander'
import { ProblemError } from '../../shared/model/problem.ts'
import { type Emulation, layEmulation } from '../../shared/rehearse/emulate.ts'
import { Emulator, type EmulatorEnd } from '../serial/emulator.ts'
import { Keeper } from '../serial/kept-receiver.ts'
import { Ports } from '../serial/list.ts'
import type { OpenPort } from '../serial/port.ts'
import { makePortPair, type PortPair } from '../serial/port-pair.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { defaultReceiver, faultChoice, gather, seedOption } from './choices.ts'
import { DATA_OPTION, usableDataFolder } from './data-folder.ts'
import {
  HOST_SECONDS,
  liveDialect,
  type Patience,
  paceOption,
  patienceOption,
  QUIET_SECONDS,
} from './emulate-options.ts'
import { keptState, lastSave, roomForState, type StatePlace, statePlace } from './emulate-state.ts'
import { beginText, endText, lineText, listing, listingText, Teller } from './emulate-text.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad, benchFrom, need } from './input.ts'
import { echoOption } from './write-direct.ts'

interface Options {
  readonly demo?: boolean
  readonly bench?: string
  readonly receiver?: string
  readonly dialect: string
  readonly port?: string
  readonly fault: readonly string[]
  readonly seed: string
  readonly echo?: string | true
  readonly pace: string
  readonly state?: string
  readonly data?: string
  readonly once?: boolean | string
  readonly waitForHost?: string
  readonly talksFirst?: boolean
  readonly json?: boolean
  readonly list?: boolean
}

const HELP = `
It is played until you end it: Ctrl-C ends it cleanly, and so does closing the terminal. With --once it ends by itself
when the host has been quiet, or when no host has spoken at all within --wait-for-host, counted from when it is ready.

Exit code: 0 the receiver was left able to fly; 1 it was not, the port has gone, or no host has spoken; 2 something
that was named is not there.`

export function emulateCommand(end: (ending: Ending) => void): Command {
  return new Command('emulate')
    .description('Play a simulated receiver on a serial port, for training and for tests.')
    .option('--dialect <name>', 'what it speaks: a name (see --list), or a dialect file', 'preflash-bus')
    .option(
      '--port <path>',
      'the port to play it on: a path, HOST:PORT of a serial server, or the name that you gave it; "new" makes a pair of ports and says the other end',
    )
    .option('--demo', 'a receiver of the demo bench (what is taken when no bench is named)')
    .option('--bench <file>', 'a receiver of this bench file')
    .option('--receiver <id>', 'which receiver')
    .option('--fault <name[=value]>', 'let this go wrong; may be given several times', gather, [])
    .option('--seed <n>', 'seed of the dice, 0 to 4294967295', '1')
    .option('--echo [yes-or-no]', 'whether the host hears itself; as on the wire of the dialect if left out')
    .option('--pace <how>', 'line: octets take the time that the line takes; none: hardly any', 'line')
    .option('--talks-first', 'the bus is polled before the host says anything; not for pairs of ports')
    .option('--state <file>', 'keep what the receiver holds in this file, and begin with it the next time')
    .option('--once [seconds]', `end when the host has been quiet for so long (${QUIET_SECONDS})`)
    .option(
      '--wait-for-host <seconds>',
      `with --once: end when no host has said anything for so long (${HOST_SECONDS})`,
    )
    .option(...DATA_OPTION)
    .option('--json', 'print each thing that happens as a line of JSON')
    .option('--list', 'name the dialects and the faults')
    .addHelpText('after', HELP)
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
      expected:
        'a path such as /dev/ttyUSB0, a serial server as HOST:PORT, or "new" for a pair of ports made for this',
    })
  try {
    return await play(options, options.port)
  } catch (error) {
    if (error instanceof ProblemError) throw new BadInput([error.problem])
    throw error
  }
}

async function play(options: Options, where: string): Promise<Ending> {
  const folder = usableDataFolder(options.data)
  const bench = await benchFrom(options)
  const patience = patienceOption(options)
  const state = await statePlace(options.state)
  const emulation = need(
    layEmulation({
      bench,
      receiverId: options.receiver ?? defaultReceiver(bench),
      dialect: await liveDialect(options.dialect),
      seed: seedOption(options.seed),
      faults: options.fault.map(faultChoice),
      echo: echoOption(options.echo === true ? 'yes' : options.echo),
      pace: paceOption(options.pace),
      ...(options.talksFirst ? { talksFirst: true } : {}),
      ...(await keptState(state)),
    }),
  )
  await roomForState(state, emulation.memory)
  const pair = where === 'new' ? await makePortPair() : undefined
  try {
    const ports = new Ports(new PortsFile(folder))
    const port = await ports.open(pair?.ours ?? where, emulation.line)
    return await playOn(port, emulation, { options, patience, where, pair, state })
  } finally {
    await pair?.end()
  }
}

interface Around {
  readonly options: Options
  readonly patience: Patience
  readonly where: string
  readonly pair: PortPair | undefined
  readonly state: StatePlace | undefined
}

async function playOn(port: OpenPort, emulation: Emulation, around: Around): Promise<Ending> {
  const { options, patience, state } = around
  const { live, type, memory } = emulation
  const keeper = state && new Keeper(state.path, type.id, memory)
  const emulator = new Emulator({
    port,
    live,
    unplugAfterMs: emulation.unplugAfterMs,
    ...patience,
    talksFirst: emulation.talksFirst,
  })
  // Before it is told to be ready: whoever waits for that may end it at once.
  const release = listenToPerson(emulator)
  sayBegin(emulation, around)
  const teller = new Teller()
  live.device.trace.watch = told => {
    if (told.told === 'flash' || told.told === 'event') keeper?.changed()
    const line = teller.tell(told)
    if (line) say(options, { event: 'told', ...line }, `${lineText(line)}\n`)
  }
  try {
    const end = await emulator.ended
    const unsaved = keeper && state && (await lastSave(keeper, state, memory))
    const ending = sayEnd(emulation, end, options)
    return unsaved === undefined ? ending : bad(unsaved)
  } finally {
    release()
  }
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
    echo: emulation.echo,
    held: emulation.held(),
  }
  say(options, ready, beginText(emulation, port, pair?.theirs, process.stdin.isTTY))
}

function sayEnd(emulation: Emulation, end: EmulatorEnd, options: Options): Ending {
  const held = emulation.held()
  say(options, { event: 'end', ...end, held }, endText(end, held))
  const isWell = held.outcome === 'updated' || held.outcome === 'unchanged'
  return isWell && end.why !== 'port-lost' && end.why !== 'no-host' ? EXIT.done : EXIT.negative
}

function say(options: Options, json: object, text: string): void {
  process.stdout.write(options.json ? `${JSON.stringify(json)}\n` : text)
}

const STOPS = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const

/**
 * Ends with Ctrl+C or with its terminal; at a terminal, the Enter key switches the receiver off and on. Told to end
 * more than once, as by a terminal that tells all of a group, it still ends cleanly.
 * @returns how to stop listening
 */
function listenToPerson(emulator: Emulator): () => void {
  let isStopped = false
  const stop = () => {
    isStopped = true
    void emulator.stop()
  }
  for (const signal of STOPS) process.on(signal, stop)
  const keys = process.stdin.isTTY ? createInterface({ input: process.stdin }) : undefined
  keys?.on('line', () => emulator.powerCycle())
  keys?.on('SIGINT', stop)
  return () => {
    keys?.close()
    // The second of two signals may come only now, while what is left is put away.
    if (!isStopped) for (const signal of STOPS) process.off(signal, stop)
  }
}
