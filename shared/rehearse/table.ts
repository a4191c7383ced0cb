import { buildImage } from '../image/build.ts'
import { writeImageCard } from '../image/image-card.ts'
import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { isKnown, type Route } from '../model/units.ts'
import { typeCode, versionNumbers, versionText } from '../procedure/bus.ts'
import type { Outcome } from '../procedure/effects.ts'
import type { StagedFile } from '../procedure/stage.ts'
import { timingFor } from '../procedure/timing.ts'
import type { UpdatePlan } from '../procedure/update.ts'
import type { VirtualCard } from '../sim/card.ts'
import {
  blankMemory,
  bootLoaderWhole,
  install,
  type ReceiverMemory,
  recordsOf,
  startable,
} from '../sim/memory.ts'
import type { CardImage } from '../sim/world.ts'
import { type ReadyImage, standInImage } from './image.ts'

/** What lies on the table before a session, and what it left behind after one. */

const FIRST_FIRMWARE = '1.0.0'

/** A receiver that runs the firmware which the bench says it runs; where that is not known, some old one. */
export function memoryOf(bench: Bench, type: ReceiverType, unit: ReceiverUnit): ReceiverMemory {
  const memory = blankMemory(type)
  const version = isKnown(unit.firmware) ? unit.firmware : FIRST_FIRMWARE
  // As much of it as bus and image can say: three numbers of 16 bits.
  const plainVersion = versionText(versionNumbers(version))
  const generation = isKnown(unit.generation)
    ? unit.generation
    : isKnown(type.nativeGeneration)
      ? type.nativeGeneration
      : 1
  const known = bench.images.find(i => i.typeId === type.id && i.version === version)
  const sequenceNumber = known?.sequenceNumber ?? 1
  const { segments } = buildImage({
    typeId: type.id,
    typeName: type.name,
    vendorName: type.maker,
    version: plainVersion,
    sequenceNumber,
    generation,
    bands: type.bands,
    region: unit.region,
    hardwareRevisions: 'any',
    wirelessCapable: type.wirelessUpdate,
    programAddress: type.flash.programAddress,
    sizeBytes: Math.min(known?.sizeBytes ?? 48 * 1024, type.flash.programBytes),
    releaseNotes: 'As found on the bench.',
  })
  install(memory, segments[0].octets, {
    typeCode: typeCode(type.id),
    version: versionNumbers(version),
    sequenceNumber,
    generation,
  })
  return memory
}

export const recordCount = (memory: ReceiverMemory): number => recordsOf(memory)[0]?.record.count ?? 0

/** What it would start, in words; an image that does not say its version is kept as 0.0.0. */
export const firmwareOf = (memory: ReceiverMemory): string => {
  const record = startable(memory)
  if (record === undefined) return 'none that starts'
  const text = versionText(record.version)
  return text === '0.0.0' ? 'not stated' : text
}

/**
 * What became of the receiver, judged by what it holds and by nothing else.
 * @param countBefore the newest record's count before the session
 */
export function judge(memory: ReceiverMemory, countBefore: number): Outcome {
  if (memory.dead !== undefined) return 'destroyed'
  if (!bootLoaderWhole(memory)) return 'needs-boot-rom'
  const record = startable(memory)
  if (record === undefined) return 'needs-cable'
  return record.count > countBefore ? 'updated' : 'unchanged'
}

export interface Staging {
  readonly folder: string
  readonly payloadPath: string
  readonly cardPath: string
  readonly files: readonly StagedFile[]
}

const encoder = new TextEncoder()

/** What the files of an image are called on the card. */
export function stagedPaths({ card }: Pick<ReadyImage, 'card'>, folder: string) {
  const version = isKnown(card.version) ? card.version.replace(/[^0-9A-Za-z.-]/g, '-') : 'version-not-known'
  const name = `${folder}/${card.typeId}-${version}`
  return { payloadPath: `${name}.image`, cardPath: `${name}.card.json` }
}

/** The files that go on the card for this image. */
export function stagingOf(image: ReadyImage, folder: string): Staging {
  const { payloadPath, cardPath } = stagedPaths(image, folder)
  return {
    folder,
    payloadPath,
    cardPath,
    files: [
      { path: payloadPath, octets: image.payload },
      { path: cardPath, octets: encoder.encode(writeImageCard(image.card)) },
    ],
  }
}

export function planFor(bench: Bench, type: ReceiverType, route: Route, staging: Staging): UpdatePlan {
  return {
    route,
    payloadPath: staging.payloadPath,
    cardPath: staging.cardPath,
    stage: staging.files,
    baud: type.bus.baud,
    attempts: 2,
    types: bench.catalogue.receiverTypes,
    timing: timingFor({
      route,
      baud: type.bus.baud,
      turnaroundMs: type.bus.turnaroundMicros / 1000,
      flash: type.flash,
      latencyMs: 0,
      settleMs: type.boot.settleMs,
      listenMs: type.boot.listenMs,
    }),
  }
}

/**
 * What a fault does to the files once they are on the card: damage, or another image in their place.
 * @returns a function for `SessionOptions.onStaged`, which acts once
 */
export function tamperWith(
  cardImage: CardImage,
  bench: Bench,
  type: ReceiverType,
  image: ReadyImage,
  staging: Staging,
) {
  let done = cardImage.kind === 'as-chosen'
  return (card: VirtualCard): void => {
    if (done || !card.files.has(staging.payloadPath) || !card.files.has(staging.cardPath)) return
    done = true
    if (cardImage.kind === 'damaged') {
      const octets = image.payload.slice()
      octets[cardImage.atByte % octets.length] ^= 0x10
      card.replace(staging.payloadPath, octets)
    } else if (cardImage.kind === 'other-type') {
      const other = otherImage(bench, type, cardImage.typeId, image)
      if (other === undefined) return
      const label = cardImage.labelled
        ? other.card
        : {
            ...image.card,
            sizeBytes: other.card.sizeBytes,
            crc32: other.card.crc32,
            sha256: other.card.sha256,
          }
      card.replace(staging.payloadPath, other.payload)
      card.replace(staging.cardPath, encoder.encode(writeImageCard(label)))
    }
  }
}

function otherImage(
  bench: Bench,
  type: ReceiverType,
  typeId: string | undefined,
  image: ReadyImage,
): ReadyImage | undefined {
  const others = bench.catalogue.receiverTypes.filter(t => t.id !== type.id)
  const catalogued = others.find(t => t.id === typeId) ?? others[0]
  // On a bench with one type only, the wrong image comes from a type that the bench has never heard of.
  const foreign = catalogued ?? { ...type, id: 'some-other-type', maker: 'Somebody', name: 'Other' }
  const built = standInImage(
    { ...foreign, flash: { ...foreign.flash, programBytes: Math.max(4096, image.payload.length) } },
    1,
  )
  return built.ok ? built.value : undefined
}
