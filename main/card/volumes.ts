import { execFile } from 'node:child_process'
import { readdir, readFile, realpath, statfs } from 'node:fs/promises'
import { homedir } from 'node:os'
import { promisify } from 'node:util'
import { type LinuxSources, linuxVolumes } from './linux-volumes.ts'
import { macVolumes, WINDOWS_QUERY, windowsVolumes } from './other-volumes.ts'
import type { Volume } from './volume.ts'

const COMMAND_TIMEOUT_MS = 10_000
const run = promisify(execFile)
const orUndefined = () => undefined

const output = async (command: string, ...args: readonly string[]): Promise<string> =>
  (await run(command, [...args], { timeout: COMMAND_TIMEOUT_MS, windowsHide: true })).stdout

const sizeOf = (path: string) => statfs(path).catch(orUndefined)

const realLinux: LinuxSources = {
  readText: path => readFile(path, 'utf8').catch(orUndefined),
  realPath: path => realpath(path).catch(orUndefined),
  names: folder => readdir(folder).catch(() => []),
  statfs: sizeOf,
  homeFolder: homedir(),
}

/**
 * The volumes that are mounted now, with what each is: a card, a radio's own storage, the system's disk.
 * @throws an error where the system's own list of volumes cannot be had
 */
export function mountedVolumes(platform: NodeJS.Platform = process.platform): Promise<readonly Volume[]> {
  const homeFolder = homedir()
  if (platform === 'darwin')
    return macVolumes({ mounts: () => output('/sbin/mount'), statfs: sizeOf, homeFolder })
  if (platform === 'win32')
    return windowsVolumes({
      logicalDisks: () =>
        output('powershell.exe', '-NoProfile', '-NonInteractive', '-Command', WINDOWS_QUERY),
      systemDrive: process.env.SystemDrive ?? 'C:',
      homeFolder,
    })
  return linuxVolumes(realLinux)
}
