import type { Imported } from '../../shared/api/library.ts'
import { MAX_IMPORT_BYTES } from '../../shared/api/library.ts'
import { isCardName, pairFiles } from '../../shared/image/pairing.ts'
import { isZip } from '../../shared/image/recognise.ts'
import type { Uf2Family } from '../../shared/image/uf2-families.ts'
import { isNoImage } from '../../shared/library/folder-rules.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { sayAlike } from './alike.ts'

/** Reads what was chosen or dropped, and hands it over in parcels that are not too large. */

export type ImportedFile = Imported

export interface FileLike {
  /** With its folders, for a file out of a folder. */
  readonly name: string
  readonly size: number
  arrayBuffer(): Promise<ArrayBuffer>
  text(): Promise<string>
}

export interface ReadyFile {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
  readonly among?: boolean
  readonly only?: string
  readonly families?: Uf2Family[]
}

export const MAX_IMAGE_BYTES = 16 * 1024 * 1024
export const MAX_CARD_BYTES = 200_000
const PARCEL_BYTES = 16 * 1024 * 1024
const PARCEL_FILES = 50

export interface Outcome {
  readonly fileName: string
  /** `aside`: no image, so nothing is wrong with it; `families`: a choice is needed; `stopped`: not read any more. */
  readonly got: 'entry' | 'duplicate' | 'problems' | 'aside' | 'families' | 'stopped'
  /** The archive it was in. */
  readonly within?: string
  /** What to say: problems in full sentences, or what came with the file. */
  readonly words: readonly string[]
  /** Id in the library, where it is there now. */
  readonly id?: string
  readonly families?: readonly Uf2Family[]
  /** What to hand over again with the family that was chosen. */
  readonly again?: ReadyFile
}

export interface ImportRun {
  /** Takes a parcel and says what became of each file. */
  readonly hand: (parcel: readonly ReadyFile[]) => Promise<readonly ImportedFile[]>
  /** Is called with the number of files done so far, of all. */
  readonly tell: (done: number, all: number) => void
  /** The files are all that was in a folder, not chosen one by one. */
  readonly among?: boolean
  readonly signal?: AbortSignal
}

const refused = (fileName: string, ...words: string[]): Outcome => ({ fileName, got: 'problems', words })
const mib = (bytes: number) => Math.round(bytes / 1048576)

async function read(
  image: FileLike,
  card: FileLike | undefined,
  among: boolean,
): Promise<ReadyFile | Outcome> {
  if (image.size > MAX_IMPORT_BYTES) return tooLarge(image)
  if (card !== undefined && card.size > MAX_CARD_BYTES)
    return refused(image.name, `${card.name} is too large for an image card. Leave it out, or get it again.`)
  try {
    const octets = new Uint8Array(await image.arrayBuffer())
    if (octets.length > MAX_IMAGE_BYTES && !isZip(octets)) return tooLarge(image)
    const cardText = await card?.text()
    return {
      fileName: image.name,
      octets,
      ...(cardText === undefined ? {} : { cardText }),
      ...(among ? { among } : {}),
    }
  } catch {
    return refused(image.name, 'The file could not be read. Is it still there, and may you open it?')
  }
}

const tooLarge = ({ name, size }: FileLike): Outcome =>
  refused(
    name,
    `The file has ${mib(size)} MiB. An image has at most ${mib(MAX_IMAGE_BYTES)} MiB, and a ZIP archive of images at most ${mib(MAX_IMPORT_BYTES)} MiB: see whether it is the right file.`,
  )

const isReady = (one: ReadyFile | Outcome): one is ReadyFile => 'octets' in one

/** @returns what became of each file, what needs looking at first */
export async function importFiles(files: readonly FileLike[], run: ImportRun): Promise<Outcome[]> {
  const { hand, tell, among = false, signal } = run
  const { images, strays } = pairFiles(files)
  // Other JSON files are nothing special in a folder.
  const told = among ? strays.filter(stray => stray.hasImage) : strays
  const outcomes: Outcome[] = told.map(({ file, why }) => refused(file.name, why))
  let parcel: ReadyFile[] = []
  let done = 0
  const send = async () => {
    if (parcel.length === 0) return
    const sent = parcel
    parcel = []
    outcomes.push(...(await hand(sent)).map(one => outcomeOf(one, sent, among)))
    done += sent.length
    tell(done, images.length)
  }
  for (const { file, card } of images) {
    if (signal?.aborted) {
      outcomes.push({ fileName: file.name, got: 'stopped', words: [] })
      continue
    }
    const ready = await read(file, card, among)
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
  return inOrder(outcomes)
}

const ORDER: Readonly<Record<Outcome['got'], number>> = {
  families: 0,
  problems: 1,
  entry: 2,
  duplicate: 3,
  aside: 4,
  stopped: 5,
}

/** What needs looking at comes first; what was left aside, and what was not read any more, is one line each. */
function inOrder(outcomes: readonly Outcome[]): Outcome[] {
  const shown = outcomes.filter(({ got }) => got !== 'aside' && got !== 'stopped')
  for (const got of ['aside', 'stopped'] as const) {
    const some = outcomes.filter(outcome => outcome.got === got)
    if (some.length > 0) shown.push(summed(got, some))
  }
  return shown.sort((a, b) => ORDER[a.got] - ORDER[b.got])
}

const MOST_NAMED = 5

function summed(got: 'aside' | 'stopped', some: readonly Outcome[]): Outcome {
  const names = some.slice(0, MOST_NAMED).map(({ fileName }) => fileName)
  if (some.length > names.length) names.push('…')
  const [what, words] =
    got === 'aside'
      ? ['no image', 'No firmware images by what is in them. If one is, import it by itself.']
      : ['not read', 'You stopped the import. What was taken before is in the library.']
  const fileName = some.length === 1 ? (some[0]?.fileName ?? '') : `${some.length} files, ${what}`
  return { fileName, got, words: some.length === 1 ? [words] : [names.join(', '), words] }
}

function outcomeOf(imported: ImportedFile, sent: readonly ReadyFile[], among: boolean): Outcome {
  const { fileName, within } = imported
  const about = { fileName, ...(within === undefined ? {} : { within }) }
  if (imported.got === 'problems') {
    const { problems } = imported
    if (problems.some(p => p.code === 'work.stopped')) return { ...about, got: 'stopped', words: [] }
    const isAside = (among || within !== undefined) && isNoImage(problems)
    return { ...about, got: isAside ? 'aside' : 'problems', words: problems.map(sayProblem) }
  }
  if (imported.got === 'families') {
    const source = sent.find(one => one.fileName === (within ?? fileName))
    const again = source && (within === undefined ? source : { ...source, only: fileName })
    const words = ['It holds images for several families of controllers. Which does your receiver have?']
    return { ...about, got: 'families', words, families: imported.families, ...(again ? { again } : {}) }
  }
  return { ...about, got: imported.got, words: wordsOf(imported), id: imported.entry.id }
}

const lastPart = (path: string): string => path.slice(path.lastIndexOf('/') + 1)

function wordsOf({ got, fileName, entry }: Extract<ImportedFile, { got: 'entry' | 'duplicate' }>): string[] {
  const own = lastPart(fileName)
  const otherFormat = entry.alsoAs?.find(f => f.fileName === own && f.format !== entry.format)
  const as =
    otherFormat === undefined
      ? entry.fileName === own
        ? ''
        : `It is there as ${entry.fileName}.`
      : `The same program is there as ${entry.fileName}, in another container.`
  return [
    entry.card === null
      ? 'It has no image card.'
      : got === 'entry' && entry.cardFrom === 'beside'
        ? 'With its image card.'
        : '',
    ...(got === 'duplicate' ? [as] : entry.problems.map(sayProblem)),
  ].filter(word => word !== '')
}

/** Adds to what was taken which images of the library are the same program. */
export function withAlikeWords(
  outcomes: readonly Outcome[],
  entries: readonly Parameters<typeof sayAlike>[0][],
): Outcome[] {
  const byId = new Map(entries.map(entry => [entry.id, entry]))
  return outcomes.map(outcome => {
    const entry = outcome.got === 'entry' && outcome.id ? byId.get(outcome.id) : undefined
    const alike = entry === undefined ? [] : sayAlike(entry, byId)
    return alike.length === 0 ? outcome : { ...outcome, words: [...outcome.words, ...alike] }
  })
}

/** Files that are bench files by their names are the window's business when they come alone. */
export const holdsImages = (files: readonly { readonly name: string }[]): boolean =>
  files.some(file => !isCardName(file.name))
