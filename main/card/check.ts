import * as fs from 'node:fs/promises'
import { join } from 'node:path'
import { junkOf } from '../../shared/card/junk.ts'
import { MANIFEST_NAME, type Manifest, type StagedImage } from '../../shared/card/manifest.ts'
import { foldName, sameName } from '../../shared/card/names.ts'
import { type StaleImage, staleOn } from '../../shared/card/stale.ts'
import { sha256Hex } from '../../shared/image/digest.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { failed, type Problem, ProblemError, type Result, succeeded } from '../../shared/model/problem.ts'
import type { Procedure } from '../../shared/procedure/effects.ts'
import { readPart, StagingFailed, stagingFailure, store } from '../../shared/procedure/stage.ts'
import type { StoreSteps } from './card-folder.ts'
import { carryOut } from './carry-out.ts'
import { folderAsSpelt, manifestIn } from './found.ts'
import { type ReadBack, RealStore } from './real-store.ts'
import { topFailureOf } from './store-errors.ts'
import type { Target } from './target.ts'

/** What has become of an image since it was staged. */
export type ImageState =
  | 'intact'
  /** The image or its image card is not what was staged. */
  | 'changed'
  | 'missing'
  | 'unreadable'

export interface CheckedImage {
  readonly image: StagedImage
  readonly state: ImageState
  /** One sentence for a person. */
  readonly text: string
  /** Ids of the receivers of this type on the bench. */
  readonly receivers: readonly string[]
  readonly stale: StaleImage | undefined
}

export interface CardCheck {
  readonly manifest: Manifest
  readonly images: readonly CheckedImage[]
  /** Files in the folder that are neither in the manifest nor known as junk. */
  readonly unlisted: readonly string[]
  /** What an interrupted staging left. */
  readonly leftOver: readonly string[]
  readonly junk: readonly string[]
  readonly readBack: ReadBack
}

/**
 * Looks at a staged card again: reads every image that the manifest names, compares digests, and says what is stale
 * on this bench.
 * @returns problems `manifest.missing`, `manifest.not-json`, `manifest.field`, `check.card-absent`
 * @throws an error that says nothing about the card
 */
export async function checkCard(
  target: Target,
  wantedFolder: string,
  bench: Bench,
  steps: StoreSteps = fs,
): Promise<Result<CardCheck>> {
  const folder = await folderAsSpelt(target.root, wantedFolder.replace(/^\/+|\/+$/g, ''))
  const place = join(target.root, folder)
  const entries = await fs.readdir(place, { withFileTypes: true }).catch(() => [])
  const names = entries.filter(entry => !entry.isDirectory()).map(({ name }) => name)
  const { manifest, warnings } = await manifestIn(place, names)
  if (manifest === undefined)
    return failed(
      ...(warnings.length > 0 ? warnings : [noManifest(place, await listsElsewhere(target.root))]),
    )
  let volume: RealStore | undefined
  try {
    volume = await RealStore.at(target.root, steps)
    const stale = staleOn(manifest, bench)
    const images: CheckedImage[] = []
    for (const image of manifest.images) {
      const state = await carryOut(stateOf(image, folder), volume)
      const receivers = bench.receivers.filter(r => r.typeId === image.typeId).map(r => r.id)
      const words = stale.find(s => s.name === image.name)
      images.push({ image, state, text: say(image, state), receivers, stale: words })
    }
    return succeeded({ manifest, images, ...others(manifest, names), readBack: volume.readBack })
  } catch (error) {
    if (error instanceof StagingFailed) return failed(gone(target.root, error.message))
    if (error instanceof ProblemError) return failed(error.problem)
    const why = topFailureOf(error)
    if (why !== undefined) return failed(gone(target.root, stagingFailure(why).message))
    throw error
  } finally {
    await volume?.close()
  }
}

/** @throws StagingFailed when the whole card is not there */
function* stateOf(image: StagedImage, folder: string): Procedure<ImageState> {
  const at = (name: string) => (folder === '' ? name : `${folder}/${name}`)
  try {
    const payload = yield* digestOf(at(image.name))
    const card = yield* digestOf(at(image.cardName))
    return payload === image.sha256 && card === image.cardSha256 ? 'intact' : 'changed'
  } catch (error) {
    if (!(error instanceof StagingFailed) || error.why === 'absent') throw error
    return error.why === 'not-found' ? 'missing' : 'unreadable'
  }
}

const CHUNK_BYTES = 32 * 1024
/** The most that was ever staged; larger files are not what they were, whatever they hold. */
const MOST_BYTES = 8 * 1024 * 1024

/** @returns undefined for a file too large to be one of ours */
function* digestOf(path: string): Procedure<string | undefined> {
  const size = yield* store({ op: 'size', path })
  if (size.got !== 'number' || size.value > MOST_BYTES) return undefined
  const octets = new Uint8Array(size.value)
  for (let got = 0; got < octets.length; ) {
    const part = yield* readPart(path, got, Math.min(CHUNK_BYTES, octets.length - got))
    if (part.length === 0) return undefined
    octets.set(part, got)
    got += part.length
  }
  return sha256Hex(octets)
}

function others(manifest: Manifest, names: readonly string[]) {
  const listed = new Set([MANIFEST_NAME, ...manifest.images.flatMap(i => [i.name, i.cardName])].map(foldName))
  const rest = names.filter(name => !listed.has(foldName(name)))
  const isPart = (name: string) => name.endsWith('.part')
  return {
    leftOver: rest.filter(isPart),
    junk: rest.filter(name => junkOf(name)),
    unlisted: rest.filter(name => !isPart(name) && !junkOf(name) && !sameName(name, MANIFEST_NAME)),
  }
}

const say = (image: StagedImage, state: ImageState): string =>
  ({
    intact: `${image.name} is as it was staged.`,
    changed: `${image.name}, or its image card, is not what was staged: do not use it, stage it again.`,
    missing: `${image.name}, or its image card, is no longer on the card.`,
    unreadable: `${image.name}, or its image card, cannot be read: do not trust this card any more.`,
  })[state]

/** Folders at the top of the card, and the top itself, that were staged into. */
async function listsElsewhere(root: string): Promise<readonly string[]> {
  const entries = await fs.readdir(root, { withFileTypes: true }).catch(() => [])
  const folders = entries
    .filter(entry => entry.isDirectory() && !junkOf(entry.name))
    .slice(0, MOST_LOOKED_INTO)
  const found = await Promise.all(
    ['', ...folders.map(({ name }) => name)].map(async folder => {
      const names = await fs.readdir(join(root, folder)).catch((): string[] => [])
      return names.includes(MANIFEST_NAME) ? [folder === '' ? 'the top of the card' : folder] : []
    }),
  )
  return found.flat()
}
const MOST_LOOKED_INTO = 100

const noManifest = (file: string, elsewhere: readonly string[]): Problem => ({
  code: 'manifest.missing',
  file,
  message: `There is no list of staged images here (${MANIFEST_NAME}).`,
  remedy:
    elsewhere.length > 0
      ? `There is one in ${elsewhere.join(', ')}.`
      : 'Name the folder that was staged into, or stage an image first.',
})

const gone = (file: string, message: string): Problem => ({
  code: 'check.card-absent',
  file,
  message,
  remedy: 'Put the card in again, wait until the desktop shows it, and check again.',
})
