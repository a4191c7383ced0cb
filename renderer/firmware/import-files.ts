import type { z } from 'zod'
import type { importedSchema } from '../../shared/api/library.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { isCardName, pairFiles } from './pairing.ts'

/** Reads what was chosen or dropped, and hands it over in parcels that are not too large. */

export type ImportedFile = z.infer<typeof importedSchema>

export interface FileLike {
  readonly name: string
  readonly size: number
  arrayBuffer(): Promise<ArrayBuffer>
  text(): Promise<string>
}

export interface ReadyFile {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
}

export const MAX_IMAGE_BYTES = 16 * 1024 * 1024
export const MAX_CARD_BYTES = 200_000
const PARCEL_BYTES = 16 * 1024 * 1024
const PARCEL_FILES = 50

export interface Outcome {
  readonly fileName: string
  readonly got: 'entry' | 'duplicate' | 'problems'
  /** What to say: problems in full sentences, or what came with the file. */
  readonly words: readonly string[]
  /** Id in the library, where it is there now. */
  readonly id?: string
}

const refused = (fileName: string, ...words: string[]): Outcome => ({ fileName, got: 'problems', words })

async function read(image: FileLike, card: FileLike | undefined): Promise<ReadyFile | Outcome> {
  if (image.size > MAX_IMAGE_BYTES)
    return refused(
      image.name,
      `The file has ${Math.round(image.size / 1048576)} MiB. An image has at most 16 MiB: see whether it is the right file.`,
    )
  if (card !== undefined && card.size > MAX_CARD_BYTES)
    return refused(image.name, `${card.name} is too large for an image card. Leave it out, or get it again.`)
  try {
    const octets = new Uint8Array(await image.arrayBuffer())
    const cardText = await card?.text()
    return { fileName: image.name, octets, ...(cardText === undefined ? {} : { cardText }) }
  } catch {
    return refused(image.name, 'The file could not be read. Is it still there, and may you open it?')
  }
}

const isReady = (one: ReadyFile | Outcome): one is ReadyFile => 'octets' in one

/**
 * @param hand takes a parcel and says what became of each file
 * @param tell is called with the number of files done so far, of all
 */
export async function importFiles(
  files: readonly FileLike[],
  hand: (parcel: readonly ReadyFile[]) => Promise<readonly ImportedFile[]>,
  tell: (done: number, all: number) => void,
): Promise<Outcome[]> {
  const { images, strays } = pairFiles(files)
  const outcomes: Outcome[] = strays.map(({ file, why }) => refused(file.name, why))
  let parcel: ReadyFile[] = []
  let done = 0
  const send = async () => {
    if (parcel.length === 0) return
    outcomes.push(...(await hand(parcel)).map(outcomeOf))
    done += parcel.length
    parcel = []
    tell(done, images.length)
  }
  for (const { file, card } of images) {
    const ready = await read(file, card)
    if (!isReady(ready)) {
      outcomes.push(ready)
      done++
      continue
    }
    const bytes = parcel.reduce((sum, one) => sum + one.octets.length, ready.octets.length)
    if (bytes > PARCEL_BYTES || parcel.length >= PARCEL_FILES) await send()
    parcel.push(ready)
  }
  await send()
  // What needs looking at comes first.
  return outcomes.sort((a, b) => Number(b.got === 'problems') - Number(a.got === 'problems'))
}

function outcomeOf(imported: ImportedFile): Outcome {
  const { fileName, got } = imported
  if (imported.got === 'problems') return { fileName, got, words: imported.problems.map(sayProblem) }
  const { entry } = imported
  const words = [
    entry.card === null
      ? 'It has no image card.'
      : imported.got === 'entry' && entry.cardFrom === 'beside'
        ? 'With its image card.'
        : '',
    ...(imported.got === 'duplicate' && entry.fileName !== fileName
      ? [`It is there as ${entry.fileName}.`]
      : []),
    ...(imported.got === 'entry' ? entry.problems.map(sayProblem) : []),
  ].filter(word => word !== '')
  return { fileName, got, words, id: entry.id }
}

/** Files that are bench files by their names are the window's business when they come alone. */
export const holdsImages = (files: readonly { readonly name: string }[]): boolean =>
  files.some(file => !isCardName(file.name))
