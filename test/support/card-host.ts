import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import type { StoreSteps } from '../../main/card/card-folder.ts'
import type { Volume } from '../../main/card/volume.ts'
import type { CardEnv } from '../../main/handlers/card.ts'
import { createHandlers, type HandlerEnv } from '../../main/handlers/index.ts'
import { startHost } from '../../main/host/server.ts'
import { projectRoot } from '../../main/scripts/build.mjs'
import { contract } from '../../shared/api/contract.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { spoiledSteps, systemError } from './card-fixture.ts'
import { testFolder } from './folder.ts'
import type { TestHost } from './host.ts'

/** Volumes that a test puts in place of the machine's own: folders that stand in for cards, and disks beside them. */

const GIB = 2 ** 30

export const cardVolume = (path: string, more: Partial<Volume> = {}): Volume => ({
  path,
  kind: 'card',
  why: 'The system says that it is a removable medium.',
  certain: true,
  label: 'CLUB',
  fileSystem: 'vfat',
  readOnly: false,
  totalBytes: 8 * GIB,
  freeBytes: 6 * GIB,
  clusterBytes: 4096,
  ...more,
})

export const systemVolume: Volume = {
  path: '/',
  kind: 'system',
  why: 'The running system uses it.',
  certain: true,
  fileSystem: 'ext4',
  readOnly: false,
  totalBytes: 500 * GIB,
  freeBytes: 100 * GIB,
  clusterBytes: 4096,
}

/** A card that can be pulled: from then on it is not listed, and whatever is asked of it answers so. */
export interface PullableCard {
  readonly env: CardEnv
  /** Where its files lie, in the slot or in the hand. */
  readonly root: string
  /** Runs before each write to it, with how many there were since the last `onWrite`. */
  onWrite(act: (nth: number) => void | Promise<void>): void
  pull(): void
  putIn(): void
  remove(): void
}

export function pullableCard(beside: readonly Volume[] = [systemVolume]): PullableCard {
  const folder = testFolder('card-host')
  const root = join(folder.path, 'CLUB')
  mkdirSync(root)
  let isIn = true
  let writes = 0
  let act: (nth: number) => void | Promise<void> = () => {}
  const steps: StoreSteps = spoiledSteps(async step => {
    if (step === 'write') await act(++writes)
    // Closing lets the handle go, whatever the device says.
    if (!isIn && step !== 'close') throw systemError('ENODEV')
  })
  return {
    root,
    env: {
      volumes: async () => [...beside, ...(isIn ? [cardVolume(root)] : [])],
      steps,
      homeFolder: '/home/somebody',
    },
    onWrite: next => {
      writes = 0
      act = next
    },
    pull: () => {
      isIn = false
    },
    putIn: () => {
      isIn = true
    },
    remove: folder.remove,
  }
}

/**
 * The built pages served from this process, on a machine with these volumes.
 * @param more what else of the machine is not its own
 */
export async function startCardHost(
  env: CardEnv,
  more: Pick<HandlerEnv, 'simulate'> = {},
): Promise<Omit<TestHost, 'process'>> {
  const folder = testFolder('data')
  const events = makeEvents(contract)
  const printed: string[] = []
  const report = (error: unknown, method?: string) => void printed.push(`${method}: ${String(error)}`)
  const handlers = createHandlers({
    hostKind: 'browser',
    dataFolder: folder.path,
    events,
    card: env,
    ...more,
  })
  const host = await startHost({
    root: join(projectRoot, 'out', 'renderer'),
    port: 0,
    serve: serveContract(contract, handlers, report),
    listen: events.listen,
    report,
  })
  return {
    url: host.url,
    dataFolder: folder.path,
    output: () => printed.join('\n'),
    async stop() {
      await host.stop()
      folder.remove()
    },
  }
}
