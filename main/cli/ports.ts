import { mkdir } from 'node:fs/promises'
import { resolve } from 'node:path'
import { Command } from 'commander'
import type { PortInfo } from '../../shared/api/ports.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { defaultDataFolder, surroundings } from '../host/options.ts'
import { type PortList, Ports } from '../serial/list.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { PortWatch } from '../serial/watch-ports.ts'
import { BadInput, type Ending, EXIT } from './ending.ts'
import { bad } from './input.ts'

interface Options {
  readonly name?: string
  readonly add?: string
  readonly remove?: string
  readonly watch?: boolean
  readonly data?: string
  readonly json?: boolean
}

const HELP = `
Names stay with the adapter where it has a serial number of its own, else with the socket or the port; the list says
which. A serial server that speaks RFC 2217 is added as HOST:PORT. Nothing is opened to make the list, so no control
line moves.

Exit code: 0 the list was made or changed; 2 there is no such port, or the name cannot be given.`

export function portsCommand(end: (ending: Ending) => void): Command {
  return new Command('ports')
    .description('List serial ports: what they are, whether they can be used, and what you call them.')
    .argument('[name]', 'with --name: what to call it; left out, the name is taken away')
    .option('--name <port>', 'give this port a name')
    .option('--add <place>', 'add a path, or a serial server as HOST:PORT')
    .option('--remove <place>', 'take off the list what was added')
    .option('--watch', 'go on, and print the list again when something changes')
    .option('--data <dir>', 'the data folder in which names are kept')
    .option('--json', 'print JSON; with --watch one list a line')
    .addHelpText('after', HELP)
    .action(async (name: string | undefined, options: Options) => end(await run(name, options)))
}

async function run(name: string | undefined, options: Options): Promise<Ending> {
  const around = surroundings()
  const folder = options.data ?? around.env.PREFLASH_DATA ?? defaultDataFolder(around)
  const dataFolder = resolve(around.cwd, folder)
  if (name !== undefined && options.name === undefined)
    return bad({
      code: 'cli.name',
      field: 'name',
      message: 'A name is given to a port with --name PORT NAME.',
    })
  const ports = new Ports(new PortsFile(dataFolder))
  try {
    const isChange = options.name ?? options.add ?? options.remove
    if (isChange !== undefined) await mkdir(dataFolder, { recursive: true })
    if (options.add !== undefined) await ports.add(options.add)
    if (options.remove !== undefined) await ports.remove(options.remove)
    if (options.name !== undefined) await ports.name(options.name, name ?? '')
    print(await ports.list(), options)
  } catch (error) {
    if (error instanceof ProblemError) throw new BadInput([error.problem])
    throw error
  }
  if (options.watch) await watching(ports, options)
  return EXIT.done
}

/** Until somebody presses Ctrl-C. */
async function watching(ports: Ports, options: Options): Promise<void> {
  const watch = new PortWatch(() => void ports.list().then(list => print(list, options)))
  watch.start()
  await new Promise<void>(done => {
    // The watch does not keep the process alive by itself.
    const alive = setInterval(() => {}, 60_000)
    for (const signal of ['SIGINT', 'SIGTERM'] as const)
      process.once(signal, () => {
        clearInterval(alive)
        done()
      })
  })
  watch.stop()
}

function print({ ports, problem }: PortList, { json, watch }: Options): void {
  if (problem) process.stderr.write(`${sayProblem(problem)}\n`)
  const text = json ? JSON.stringify({ ports }, null, watch ? undefined : 2) : asText(ports)
  process.stdout.write(`${text}\n`)
}

function asText(ports: readonly PortInfo[]): string {
  if (ports.length === 0)
    return 'There is no serial port. Plug an adapter in, or add a serial server with --add HOST:PORT.'
  return ports.flatMap(lines).join('\n')
}

const STATE_WORDS: Readonly<Record<PortInfo['state'], string>> = {
  free: 'FREE',
  'in-use': 'IN USE',
  'no-permission': 'NO PERMISSION',
  absent: 'NOT THERE',
  'not-known': 'NOT KNOWN',
}

const stateLine = ({ stateText, remedy }: PortInfo): string =>
  `Whether it can be used: ${stateText}.${remedy === undefined ? '' : ` ${remedy}`}`

function lines(port: PortInfo): string[] {
  const ids = port.usb ? ` (USB ${port.usb.vendorId}:${port.usb.productId})` : ''
  return [
    `${STATE_WORDS[port.state].padEnd(13)}  ${port.name === undefined ? '' : `${port.name}: `}${port.place}`,
    `               ${port.what}${ids}`,
    ...(port.stateText === port.state ? [] : [`               ${stateLine(port)}`]),
    `               Hands over answers up to ${port.latencyMs} ms late: ${port.latencyFrom}.`,
    ...(port.name === undefined ? [] : [`               ${port.nameStays}`]),
  ]
}
