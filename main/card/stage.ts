import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { clustersNeeded } from '../../shared/card/clusters.ts'
import {
  MANIFEST_NAME,
  type Manifest,
  stagedImage,
  withStaged,
  writeManifest,
} from '../../shared/card/manifest.ts'
import { checkCardPath, foldPath, namesOf } from '../../shared/card/names.ts'
import { sha256Hex } from '../../shared/image/digest.ts'
import { failed, type Problem, ProblemError, type Result, succeeded } from '../../shared/model/problem.ts'
import type { Procedure, StoreRequest } from '../../shared/procedure/effects.ts'
import {
  readPart,
  type StagedFile,
  StagingFailed,
  stageFiles,
  stagingFailure,
} from '../../shared/procedure/stage.ts'
import type { ReadyImage } from '../../shared/rehearse/image.ts'
import { stagingOf } from '../../shared/rehearse/table.ts'
import type { StoreSteps } from './card-folder.ts'
import { carryOut, StagingCancelled } from './carry-out.ts'
import { folderAsSpelt, whatIsThere } from './found.ts'
import { type ReadBack, RealStore } from './real-store.ts'
import { afterFailure, imageDamaged, noRoom, readOnlyVolume, safeToEject } from './stage-words.ts'
import { topFailureOf } from './store-errors.ts'
import type { Target } from './target.ts'

export interface StageRequest {
  readonly image: ReadyImage
  readonly target: Target
  /** On the card, from its top, parted by `/`; empty for the top itself. */
  readonly folder: string
  /** ISO 8601 in UTC. */
  readonly at: string
  /** What to call the card in its manifest. */
  readonly cardName?: string
  readonly onProgress?: (done: number, total: number) => void
  /** Before each thing that is asked of the volume. */
  readonly onStore?: (request: StoreRequest) => void
  /** Stops the staging; the old files stay as they were. From the first renaming on it is too late. */
  readonly signal?: AbortSignal
  readonly steps?: StoreSteps
}

export interface Staged {
  /** Absolute path of the image. */
  readonly path: string
  readonly cardPath: string
  readonly manifestPath: string
  /** Of the payload as it was read back under its own name. */
  readonly sha256: string
  readonly readBack: ReadBack
  readonly manifest: Manifest
  /** What desktop systems left beside it, by path on the card. */
  readonly junk: readonly string[]
  /** When it is safe to eject, in a sentence. */
  readonly eject: string
}

/**
 * Puts an image, its image card and the manifest on a volume, by the very procedure that is rehearsed: temporary
 * names, flush, read back, compare, rename.
 * @returns where it lies; or problems `image.damaged`, those of names, `volume.read-only`, `stage.card-full`,
 * `stage.card-absent`, `stage.card-read-only`, `stage.card-unreadable`, `stage.cancelled`. After every one of them
 * the old files are as they were, unless the problem says otherwise. Warnings tell of a damaged manifest.
 * @throws an error that says nothing about image or volume
 */
export async function stageOnVolume(request: StageRequest): Promise<Result<Staged>> {
  const { image, target } = request
  if (!image.facts.intact) return failed(imageDamaged(image.name))
  if (target.volume?.readOnly) return failed(readOnlyVolume(target.root))
  let store: RealStore | undefined
  try {
    const plan = await planStaging(request)
    if (plan.noRoom) throw new ProblemError(plan.noRoom)
    store = await RealStore.at(target.root, request.steps)
    const back = await carryOut(stageAndProve(plan), store, request)
    return succeeded(
      {
        path: join(target.root, ...namesOf(plan.payloadPath)),
        cardPath: join(target.root, ...namesOf(plan.cardPath)),
        manifestPath: join(target.root, ...namesOf(plan.manifestPath)),
        sha256: back,
        readBack: store.readBack,
        manifest: plan.manifest,
        junk: plan.junk,
        eject: safeToEject(target),
      },
      plan.warnings,
    )
  } catch (error) {
    if (error instanceof ProblemError) return failed(error.problem)
    if (error instanceof StagingFailed || error instanceof StagingCancelled)
      return failed(afterFailure(error, target, store))
    const why = topFailureOf(error)
    if (why !== undefined) return failed(afterFailure(stagingFailure(why), target, store))
    throw error
  } finally {
    await store?.close()
  }
}

/** What staging is about to write, and how much room there is for it. */
export interface StagingPlan {
  /** As it is spelt on the card, where it is there. */
  readonly folder: string
  readonly payloadPath: string
  readonly cardPath: string
  readonly manifestPath: string
  readonly files: readonly StagedFile[]
  /** Names of those files that are there already. */
  readonly replaces: readonly string[]
  readonly manifest: Manifest
  readonly manifestBefore: Manifest | undefined
  readonly junk: readonly string[]
  readonly warnings: readonly Problem[]
  readonly sha256: string
  readonly bytes: number
  readonly needBytes: number
  readonly freeBytes: number
  readonly clusterBytes: number
  readonly noRoom: Problem | undefined
}

/**
 * Works out what would be written where, and changes nothing.
 * @throws ProblemError for bad names and names that collide with what is there; the file system's error
 */
export async function planStaging(request: StageRequest): Promise<StagingPlan> {
  const { image, target, at, cardName, steps } = request
  const folder = await folderAsSpelt(target.root, request.folder.replace(/^\/+|\/+$/g, ''))
  const { payloadPath, cardPath, files } = stagingOf(image, folder)
  const manifestPath = folder === '' ? MANIFEST_NAME : `${folder}/${MANIFEST_NAME}`
  const paths = [...files.map(f => f.path), manifestPath]
  for (const path of paths) {
    const [problem] = checkCardPath(path)
    if (problem) throw new ProblemError({ ...problem, file: path })
  }
  const there = await whatIsThere(target.root, folder, paths)
  const manifest = withStaged(
    there.manifest,
    stagedImage({
      name: namesOf(payloadPath).at(-1) ?? '',
      cardName: namesOf(cardPath).at(-1) ?? '',
      card: image.card,
      cardSha256: sha256Hex(files[1].octets),
      staged: at,
    }),
    cardName,
  )
  const octets = new TextEncoder().encode(writeManifest(manifest))
  const all = [...files, { path: manifestPath, octets }]
  const { sha256, sizeBytes: bytes } = image.card
  const { junk, warnings, replaces, manifest: manifestBefore } = there
  return {
    ...{ folder, payloadPath, cardPath, manifestPath, files: all, replaces },
    ...{ manifest, manifestBefore, junk, warnings, sha256, bytes },
    ...(await roomFor(target.root, all, there.folders, steps ?? fs)),
  }
}

async function roomFor(
  root: string,
  files: readonly StagedFile[],
  folders: ReadonlySet<string>,
  steps: Pick<StoreSteps, 'statfs'>,
): Promise<Pick<StagingPlan, 'needBytes' | 'freeBytes' | 'clusterBytes' | 'noRoom'>> {
  const { bsize, bavail } = await steps.statfs(root)
  const clusters = clustersNeeded({
    files: files.map(({ path, octets }) => ({ path, bytes: octets.length })),
    clusterBytes: bsize,
    folderIsThere: folder => folders.has(foldPath(folder)),
  })
  const [needBytes, freeBytes] = [clusters * bsize, bavail * bsize]
  return {
    ...{ needBytes, freeBytes, clusterBytes: bsize },
    noRoom: clusters > bavail ? noRoom(root, needBytes, freeBytes) : undefined,
  }
}

const CHUNK_BYTES = 32 * 1024

/** Stages, then reads the image once more under its own name. @returns the SHA-256 of what was read */
function* stageAndProve(plan: StagingPlan): Procedure<string> {
  yield* stageFiles(plan.files)
  const octets = new Uint8Array(plan.bytes)
  let got = 0
  while (got < plan.bytes) {
    const part = yield* readPart(plan.payloadPath, got, Math.min(CHUNK_BYTES, plan.bytes - got))
    if (part.length === 0) break
    octets.set(part, got)
    got += part.length
  }
  const sha256 = sha256Hex(octets.subarray(0, got))
  if (sha256 !== plan.sha256)
    throw new StagingFailed('card-unreadable', 'The digest of the file on the card is not that of the image.')
  return sha256
}
