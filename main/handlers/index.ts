import manifest from '../../package.json' with { type: 'json' }
import type { AppContract, HostKind } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { Events } from '../../shared/api/serve.ts'
import { Ports, type PortsMachine } from '../serial/list.ts'
import { PortsFile } from '../serial/ports-file.ts'
import { DialectFiles } from '../store/dialect-files.ts'
import { KeysFile } from '../store/keys.ts'
import { Library } from '../store/library.ts'
import { Logbook } from '../store/logbook.ts'
import { SettingsFile } from '../store/settings.ts'
import { WatchedFolder } from '../store/watched-folder.ts'
import { type Simulate, simulateAside, simulatorPool } from '../work/simulate.ts'
import { benchHandlers } from './benches.ts'
import { type CardEnv, cardHandlers } from './card.ts'
import { diagnoseHandlers } from './diagnose.ts'
import { dialectsHandlers } from './dialects.ts'
import { draftHandlers } from './draft.ts'
import { guideHandlers } from './guide.ts'
import { keysHandlers } from './keys.ts'
import { libraryHandlers } from './library.ts'
import { logbookHandlers } from './logbook.ts'
import { portsHandlers } from './ports.ts'
import { practiseHandlers } from './practise.ts'
import { rehearseHandlers, withFile } from './rehearse.ts'
import { settingsHandlers } from './settings.ts'
import { watchHandlers } from './watch.ts'
import { writeHandlers } from './write.ts'

/** What the handlers need to know of where they run. */
export interface HandlerEnv {
  readonly hostKind: HostKind
  /** Folder for settings, benches and the logbook; exists before the first call. */
  readonly dataFolder: string
  /** Bench file named on the command line, absolute. */
  readonly benchFile?: string
  readonly events: Events<AppContract>
  /** Where the volumes are; the machine's own where this is left out. */
  readonly card?: CardEnv
  /** What ports there are; the machine's own where this is left out. */
  readonly ports?: PortsMachine
  /** Where rehearsals and diagnoses are worked out; in worker threads where this is left out. */
  readonly simulate?: Simulate
}

/** The machine's side of the contract: one handler a method. */
export function createHandlers(env: HandlerEnv): Handlers<AppContract> {
  const { dataFolder, events } = env
  const keys = new KeysFile(dataFolder)
  const settings = new SettingsFile(dataFolder)
  const logbook = new Logbook(dataFolder)
  const dialects = new DialectFiles(dataFolder)
  const simulate = env.simulate ?? simulateAside(simulatorPool(error => console.error('simulator', error)))
  const changed = () => events.emit('library.changed', {})
  const library = new Library(dataFolder, undefined, {
    keys: async () => (await keys.get()).keys,
    onChange: changed,
  })
  const watched = new WatchedFolder({
    dataFolder,
    take: files => library.import(files),
    onChange: () => events.emit('watch.changed', {}),
  })
  return {
    'app.info': () => ({
      version: manifest.version,
      hostKind: env.hostKind,
      platform: process.platform,
      dataFolder,
    }),
    ...rehearseHandlers(library, simulate, events),
    ...diagnoseHandlers(simulate, bench => logbook.counts(bench.name)),
    ...logbookHandlers(logbook),
    ...guideHandlers({ logbook, simulate, withFile: image => withFile(image, library) }),
    ...practiseHandlers(simulate),
    ...benchHandlers(env),
    ...draftHandlers(env),
    ...libraryHandlers(library, events),
    ...keysHandlers(keys, changed),
    ...settingsHandlers(settings),
    ...watchHandlers(dataFolder, settings, watched),
    ...portsHandlers(env),
    ...dialectsHandlers(dialects, events),
    ...writeHandlers({
      ...{ dataFolder, events, logbook, library, dialects, simulate },
      ports: new Ports(new PortsFile(dataFolder), env.ports),
    }),
    ...cardHandlers({ library, events, card: env.card ?? {} }),
  }
}
