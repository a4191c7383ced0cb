import { mkdirSync, readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { StoreSteps } from '../../main/card/card-folder.ts'
import { carryOut } from '../../main/card/carry-out.ts'
import { RealStore } from '../../main/card/real-store.ts'
import { clustersNeeded } from '../../shared/card/clusters.ts'
import { checkCardPath, foldName } from '../../shared/card/names.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { findings } from '../../shared/fit/rules.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import type { CardUnit } from '../../shared/model/gear.ts'
import { type StagedFile, StagingFailed, stageFiles } from '../../shared/procedure/stage.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { stagingOf } from '../../shared/rehearse/table.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { demoImage, spoiledSteps, systemError } from '../support/card-fixture.ts'
import { type TestFolder, testFolder } from '../support/folder.ts'

/**
 * One staging, carried out on the card of a rehearsal and on a real folder: `stageFiles` is the same generator, and
 * names, clusters, full and read only have to be judged alike.
 */

const CLUSTER_BYTES = 4096
let folder: TestFolder
beforeEach(() => {
  folder = testFolder('both')
})
afterEach(() => folder.remove())

interface Table {
  readonly freeClusters?: number
  readonly readOnly?: boolean
  /** Gone before the nth write. */
  readonly pulledAt?: number
}
interface Ended {
  readonly failed: string | undefined
  readonly files: readonly string[]
}

const ended = async (run: () => Promise<unknown>): Promise<string | undefined> => {
  try {
    await run()
    return undefined
  } catch (error) {
    if (error instanceof StagingFailed) return `${error.code} ${error.why}`
    throw error
  }
}

async function onVirtual(files: readonly StagedFile[], table: Table): Promise<Ended> {
  const unit: CardUnit = {
    ...demoBench().cards[0],
    clusterBytes: CLUSTER_BYTES,
    freeBytes: (table.freeClusters ?? 1000) * CLUSTER_BYTES,
    readOnly: table.readOnly ?? false,
  }
  const card = new VirtualCard(unit, new TraceRecorder())
  let writes = 0
  const failed = await ended(() =>
    carryOut(stageFiles(files), {
      ask: async request => {
        if (request.op === 'write' && ++writes === table.pulledAt) card.pull(0)
        return card.ask(request).result
      },
    }),
  )
  return { failed, files: [...card.files.keys()].sort() }
}

async function onReal(files: readonly StagedFile[], table: Table): Promise<Ended> {
  const root = join(folder.path, 'CARD')
  mkdirSync(root)
  let isIn = true
  const steps = spoiledSteps((step, nth) => {
    if (step === 'write' && nth === table.pulledAt) isIn = false
    if (!isIn && step !== 'close') throw systemError('ENODEV')
    if (table.readOnly && ['open', 'mkdir'].includes(step)) throw systemError('EROFS')
  })
  // The free clusters of the card, less what was written to it so far, as a card counts it.
  const taken = () =>
    filesIn(root).reduce(
      (sum, path) => sum + Math.ceil(sizes.get(path.replace(/\.part$/, ''))! / CLUSTER_BYTES),
      0,
    ) + readdirSync(root).length
  const sizes = new Map(files.map(({ path, octets }) => [path, octets.length]))
  const statfs = async () => {
    const bavail = (table.freeClusters ?? 1000) - taken()
    return { type: 0, bsize: CLUSTER_BYTES, blocks: 1000, bfree: bavail, bavail }
  }
  const store = await RealStore.at(root, { ...steps, lstat: steps.lstat, statfs } as unknown as StoreSteps)
  const failed = await ended(() => carryOut(stageFiles(files), store))
  await store.close()
  return { failed, files: filesIn(root) }
}

const filesIn = (root: string): string[] =>
  readdirSync(root, { recursive: true, withFileTypes: true })
    .filter(entry => entry.isFile())
    .map(entry => join(entry.parentPath, entry.name).slice(root.length + 1))
    .sort()

async function both(files: readonly StagedFile[], table: Table = {}): Promise<Ended> {
  const [virtual, real] = [await onVirtual(files, table), await onReal(files, table)]
  expect(virtual).toEqual(real)
  return real
}

const { files } = stagingOf(demoImage(), 'IMAGES')
const NEED = clustersNeeded({
  files: files.map(f => ({ path: f.path, bytes: f.octets.length })),
  clusterBytes: CLUSTER_BYTES,
  folderIsThere: () => false,
})

describe('the card of a rehearsal and a real one', () => {
  it('end with the same files', async () => {
    expect(await both(files)).toEqual({ failed: undefined, files: files.map(f => f.path).sort() })
  })

  it.each(['NUL', 'a:b', 'A/..', 'tail.', `${'n'.repeat(256)}`, `${'x'.repeat(120)}/${'y'.repeat(140)}`])(
    'refuse the folder %j, and so does the check while it is typed',
    async name => {
      expect(checkCardPath(name).length + checkCardPath(`${name}/x`).length).toBeGreaterThan(0)
      const { failed, files: left } = await both([{ path: `${name}/x.image`, octets: Uint8Array.of(1) }])
      expect(failed).toBe('card-unreadable name')
      expect(left).toEqual([])
    },
  )

  it('are full at the same number of free clusters, which is the number that was counted beforehand', async () => {
    // One more is counted for the top folder, which may have to grow for a new name and here does not.
    expect((await both(files, { freeClusters: NEED - 1 })).failed).toBeUndefined()
    folder.remove()
    folder = testFolder('both')
    const { failed, files: left } = await both(files, { freeClusters: NEED - 2 })
    expect(failed).toBe('card-full full')
    expect(left).toEqual([])
  })

  it('refuse to be written when they are read only', async () => {
    expect(await both(files, { readOnly: true })).toEqual({ failed: 'card-read-only read-only', files: [] })
  })

  it('keep a part file and no more when they are pulled in the middle', async () => {
    expect(await both(files, { pulledAt: 6 })).toEqual({
      failed: 'card-absent absent',
      files: ['IMAGES/aldwick-wren-6-2.4.0.image.part'],
    })
  })

  it('take two spellings for one file by the same comparison', () => {
    const card = new VirtualCard(demoBench().cards[0], new TraceRecorder())
    const spellings = [
      'Wren.image',
      'WREN.IMAGE',
      'wren.Image',
      'wren2.image',
      'stra\u00dfe',
      'STRASSE',
      '\u00e9',
      'e\u0301',
    ]
    for (const path of spellings) card.ask({ op: 'create', path, bytes: 1 })
    expect(card.files.size).toBe(new Set(spellings.map(foldName)).size)
  })

  it('are full for the rule at the number at which they are full for the procedure', () => {
    const bench = demoBench()
    const at = (freeClusters: number) => {
      const cards = bench.cards.map(c => ({
        ...c,
        clusterBytes: CLUSTER_BYTES,
        freeBytes: freeClusters * CLUSTER_BYTES,
      }))
      const on = { ...bench, cards }
      const situation = situationOf(on, 'wren-trainer', 'cable', demoImage().facts)!
      const rule = findings(situation).find(f => f.rule.id === 'card-room')!.holds
      const run = rehearse(
        {
          bench: on,
          receiverId: 'wren-trainer',
          image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
          route: 'cable',
          seed: 1,
          faults: [],
          dropOutside: false,
        },
        { nowMs: () => 0 },
      )
      return [rule, run.ok && run.value.report.outcome]
    }
    expect(at(NEED - 1)).toEqual(['yes', 'updated'])
    expect(at(NEED - 2)).toEqual(['no', 'unchanged'])
  })
})

describe('what lies on a real card', () => {
  it('is compared by the same function when a name is about to be given', async () => {
    const { planStaging } = await import('../../main/card/stage.ts')
    const root = join(folder.path, 'CARD')
    mkdirSync(join(root, 'IMAGES'), { recursive: true })
    const other = 'ALDWICK-WREN-6-2.4.0.IMAGE'
    writeFileSync(join(root, 'IMAGES', other), 'x')
    expect(foldName(other)).toBe(foldName(files[0].path.split('/')[1]))
    const target = { root, kind: 'card', volume: undefined } as const
    await expect(
      planStaging({ image: demoImage(), target, folder: 'IMAGES', at: '2026-11-25T10:00:00Z' }),
    ).rejects.toMatchObject({ problem: { code: 'name.collision' } })
  })
})
