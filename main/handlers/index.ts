import manifest from '../../package.json' with { type: 'json' }
import type { AppContract, HostKind } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { Events } from '../../shared/api/serve.ts'
import { benchHandlers } from './benches.ts'
import { draftHandlers } from './draft.ts'
import { runRehearsal } from './rehearse.ts'
import { settingsHandlers } from './settings.ts'

/** What the handlers need to know of where they run. */
export interface HandlerEnv {
  readonly hostKind: HostKind
  /** Folder for settings, benches and the logbook; exists before the first call. */
  readonly dataFolder: string
  /** Bench file named on the command line, absolute. */
  readonly benchFile?: string
  readonly events: Events<AppContract>
}

/** The machine's side of the contract: one handler a method. */
export function createHandlers(env: HandlerEnv): Handlers<AppContract> {
  return {
    'app.info': () => ({
      version: manifest.version,
      hostKind: env.hostKind,
      platform: process.platform,
      dataFolder: env.dataFolder,
    }),
    'rehearse.run': runRehearsal,
    ...benchHandlers(env),
    ...draftHandlers(env),
    ...settingsHandlers(env),
  }
}
