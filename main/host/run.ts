import { mkdir } from 'node:fs/promises'
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { createHandlers } from '../handlers/index.ts'
import { simulateAside, simulatorPool } from '../work/simulate.ts'
import { warmable, whenQuiet } from '../work/warm.ts'
import { browserOpener, runOpener } from './opener.ts'
import type { StartOptions } from './options.ts'
import { surroundings } from './options.ts'
import type { RunningHost } from './server.ts'
import { startHost } from './server.ts'

const ECHO_MS = 1_000

/**
 * Starts the workbench for a browser, shows it where there is a display, and otherwise says where it is. It stops
 * on the signals that end a program. Rejects with ProblemError `host.port` when the port cannot be used.
 */
export async function runHost(
  options: StartOptions,
  root: string,
  say: (line: string) => void,
): Promise<RunningHost> {
  await mkdir(options.dataFolder, { recursive: true })
  const events = makeEvents(contract)
  const report = (error: unknown, method?: string) => console.error(method ?? 'host', error)
  const { simulate, warm } = warmable(simulateAside(simulatorPool(error => report(error, 'simulator'))))
  const handlers = createHandlers({
    hostKind: 'browser',
    dataFolder: options.dataFolder,
    events,
    simulate,
    ...(options.benchFile === undefined ? {} : { benchFile: options.benchFile }),
  })
  const host = await startHost({
    root,
    port: options.port,
    serve: whenQuiet(serveContract(contract, handlers, report), () => void warm()),
    listen: events.listen,
    report,
  })
  // Before the address is out: whoever reads it may stop the program the next moment.
  stopOnSignals(host)
  const opener = options.openBrowser ? browserOpener(host.url, surroundings()) : undefined
  const opened = opener !== undefined && (await runOpener(opener))
  say(opened ? `Preflash is open in your browser: ${host.url}` : `Preflash is ready. Open ${host.url}`)
  return host
}

/** Stops the host on Ctrl-C and on a polite kill; another Ctrl-C, when that takes too long, ends it at once. */
function stopOnSignals(host: Pick<RunningHost, 'stop'>): void {
  let stopping = false
  let impatient = false
  const stop = () => {
    if (impatient) process.exit(1)
    if (stopping) return
    stopping = true
    // npm passes on a Ctrl-C that the terminal has sent already: the echo is not a second wish.
    setTimeout(() => {
      impatient = true
    }, ECHO_MS).unref()
    void host.stop().then(() => process.exit(0))
  }
  process.on('SIGINT', stop)
  process.on('SIGTERM', stop)
}
