import { spawn } from 'node:child_process'
import type { Surroundings } from './options.ts'

export interface Opener {
  readonly command: string
  readonly args: readonly string[]
}

/** The system's own way to show an address, or undefined where there is no display to show it on. */
export function browserOpener(
  url: string,
  { env, platform }: Pick<Surroundings, 'env' | 'platform'>,
): Opener | undefined {
  if (platform === 'darwin') return { command: 'open', args: [url] }
  // `start` would let the shell read the address; this hands it over as it is.
  if (platform === 'win32') return { command: 'rundll32', args: ['url.dll,FileProtocolHandler', url] }
  return hasDisplay(env, platform) ? { command: 'xdg-open', args: [url] } : undefined
}

export function hasDisplay(env: Surroundings['env'], platform: NodeJS.Platform): boolean {
  if (platform === 'darwin' || platform === 'win32') return true
  return Boolean(env.DISPLAY) || Boolean(env.WAYLAND_DISPLAY)
}

/** Starts the opener and forgets it. Resolves to whether it could be started. */
export function runOpener({ command, args }: Opener): Promise<boolean> {
  return new Promise(resolve => {
    const child = spawn(command, [...args], { stdio: 'ignore', detached: true })
    child.once('error', () => resolve(false))
    child.once('spawn', () => {
      child.unref()
      resolve(true)
    })
  })
}
