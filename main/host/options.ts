import { homedir } from 'node:os'
import { join, resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { ProblemError } from '../../shared/model/problem.ts'

/** What both the desktop shell and the browser host take from the command line. */
export interface StartOptions {
  /** Absolute path of the bench file to open. */
  readonly benchFile?: string
  readonly dataFolder: string
  /** 0 lets the system choose. */
  readonly port: number
  readonly openBrowser: boolean
}

export interface Surroundings {
  readonly env: Readonly<Record<string, string | undefined>>
  readonly platform: NodeJS.Platform
  readonly home: string
  readonly cwd: string
}

export const surroundings = (): Surroundings => ({
  env: process.env,
  platform: process.platform,
  home: homedir(),
  cwd: process.cwd(),
})

/**
 * Reads `[BENCH-FILE] [--port N] [--no-open] [--data DIR]`. Throws ProblemError `start.arguments` that names the
 * argument when one is unknown or out of range.
 */
export function readStartOptions(args: readonly string[], around: Surroundings): StartOptions {
  const { values, positionals } = parse(args)
  if (positionals.length > 1) throw wrong('Only one bench file can be opened at the start.', positionals[1])
  const bench = positionals[0]
  return {
    ...(bench === undefined ? {} : { benchFile: resolve(around.cwd, bench) }),
    dataFolder: resolve(around.cwd, values.data ?? around.env.PREFLASH_DATA ?? defaultDataFolder(around)),
    port: readPort(values.port),
    openBrowser: values['no-open'] !== true,
  }
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: { port: { type: 'string' }, 'no-open': { type: 'boolean' }, data: { type: 'string' } },
    })
  } catch (error) {
    throw wrong(error instanceof Error ? error.message.split('. ')[0] : 'An argument is not understood')
  }
}

function readPort(text: string | undefined): number {
  if (text === undefined) return 0
  const port = Number(text)
  if (/^\d{1,5}$/.test(text) && port <= 65_535) return port
  throw wrong(`'${text}' is not a port.`, '--port')
}

function wrong(message: string, field?: string): ProblemError {
  return new ProblemError({
    code: 'start.arguments',
    message,
    ...(field === undefined ? {} : { field }),
    expected: '[BENCH-FILE] [--port 0..65535] [--no-open] [--data FOLDER]',
  })
}

/** Where each system keeps a program's data; a hidden folder at home where it has no rule. */
export function defaultDataFolder({ env, platform, home }: Surroundings): string {
  if (platform === 'win32') return join(env.APPDATA ?? join(home, 'AppData', 'Roaming'), 'Preflash')
  if (platform === 'darwin') return join(home, 'Library', 'Application Support', 'Preflash')
  return join(env.XDG_DATA_HOME ?? join(home, '.local', 'share'), 'preflash')
}
