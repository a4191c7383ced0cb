import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'

/** A process, told apart from a later one of the same number by when it was started. */
export interface Owner {
  readonly pid: number
  /** A text of the system that no later process of this number has; null where the system does not say. */
  readonly started: string | null
}

/** What is asked of the system, so that a test can answer. */
export interface ProcessProbe {
  isThere(pid: number): boolean
  started(pid: number): string | null
}

const CLOSE_MS = 3_000

/** Field 22 of /proc/PID/stat, in ticks since the start of the system: proc(5). The command's name may hold spaces. */
function startedOnLinux(pid: number): string {
  const stat = readFileSync(`/proc/${pid}/stat`, 'utf8')
  const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ')
  // Ended, though its parent has not taken notice.
  if (fields[0] === 'Z' || fields[0] === 'X') return 'ended'
  const boot = readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()
  return `${boot} ${fields[19]}`
}

const run = (program: string, ...args: readonly string[]): string =>
  execFileSync(program, args, {
    encoding: 'utf8',
    timeout: CLOSE_MS,
    stdio: ['ignore', 'pipe', 'ignore'],
    windowsHide: true,
    env: { ...process.env, LC_ALL: 'C' },
  }).trim()

function startedOn(platform: NodeJS.Platform, pid: number): string {
  if (platform === 'linux') return startedOnLinux(pid)
  if (platform === 'win32')
    return run('powershell', '-NoProfile', '-Command', `(Get-Process -Id ${pid}).StartTime.ToFileTimeUtc()`)
  return run('ps', '-o', 'lstart=', '-p', String(pid))
}

export const systemProbe: ProcessProbe = {
  isThere(pid) {
    try {
      process.kill(pid, 0)
      return true
    } catch (error) {
      // It is somebody else's.
      return error instanceof Error && 'code' in error && error.code === 'EPERM'
    }
  },
  started(pid) {
    try {
      return startedOn(process.platform, pid) || null
    } catch {
      return null
    }
  },
}

let own: Owner | undefined

/** This process. */
export function ownProcess(probe: ProcessProbe = systemProbe): Owner {
  if (probe !== systemProbe) return { pid: process.pid, started: probe.started(process.pid) }
  own ??= { pid: process.pid, started: probe.started(process.pid) }
  return own
}

/**
 * Whether the process that began something still runs. Where the system does not say when a process started, one of
 * the same number counts as the same: nothing that may still run is taken for interrupted.
 */
export function isAlive({ pid, started }: Owner, probe: ProcessProbe = systemProbe): boolean {
  if (!probe.isThere(pid)) return false
  const now = started === null ? null : probe.started(pid)
  return now === null || now === started
}
