import { junkOf } from '../card/junk.ts'
import { type Problem, type Result, succeeded } from '../model/problem.ts'
import { type ImageCard, MAX_CARD_CHARACTERS, readImageCard } from './image-card.ts'
import { type InspectedImage, type InspectOptions, inspectImage } from './inspect.ts'
import { isZip } from './recognise.ts'
import { readZipDirectory, type ZipFile } from './zip-directory.ts'
import { unpack } from './zip-inflate.ts'

/**
 * Images and their cards out of a ZIP archive, one at a time, so that no more than one is in memory. What is wrong
 * with one file is said of that file and keeps no other out. Archives within the archive are not opened.
 */

/** The card of NAME is NAME.card.json. */
export const CARD_SUFFIX = '.card.json'

export interface ZipEntry {
  /** With its folders; as it may be shown, and not to be used as a path. */
  readonly name: string
  readonly kind: 'image' | 'card' | 'other'
  /** For an image that could be read. */
  readonly image?: InspectedImage
  /** The image file as it was packed. */
  readonly octets?: Uint8Array
  /** The card that lies beside the image. */
  readonly card?: ImageCard
  readonly cardText?: string
  /** Why there is no image, or what a person should know of it or of its card. */
  readonly problems: readonly Problem[]
}

/**
 * @returns the files of the archive in the order of its directory, folders and cards that belong to an image left
 * out; each is unpacked and read when it is asked for. Or the problems of readZipDirectory. Problems of an entry:
 * `zip.name`, `zip.twice`, `zip.junk`, those of unpack, `zip.nested`, `zip.no-image` (a card without one), those of inspectImage
 * and readImageCard.
 */
export function readZip(
  octets: Uint8Array,
  fileName: string,
  options: InspectOptions,
): Result<Iterable<ZipEntry>> {
  const directory = readZipDirectory(octets, fileName)
  return directory.ok ? succeeded(entriesOf(octets, fileName, directory.value, options)) : directory
}

function* entriesOf(
  archive: Uint8Array,
  archiveName: string,
  files: readonly ZipFile[],
  options: InspectOptions,
): Generator<ZipEntry> {
  const usable = new Map<string, ZipFile>()
  for (const file of files)
    if (!file.isFolder && file.nameProblem === undefined && !usable.has(file.name))
      usable.set(file.name, file)
  const label = ({ name }: ZipFile) => `${name} in ${archiveName}`
  for (const file of files) {
    const { name } = file
    const other = (problem: Problem): ZipEntry => ({
      name,
      kind: 'other',
      problems: [{ ...problem, file: label(file) }],
    })
    if (file.nameProblem !== undefined) yield other(file.nameProblem)
    else if (file.isFolder) continue
    else if (usable.get(name) !== file) yield other(TWICE)
    else if (isJunk(name)) yield other(JUNK)
    else if (!name.endsWith(CARD_SUFFIX)) {
      const cardFile = usable.get(name + CARD_SUFFIX)
      const entry = imageEntry(archive, file, label(file), options)
      if (cardFile === undefined || entry.kind !== 'image') yield entry
      else {
        const card = readCard(archive, cardFile, label(cardFile))
        yield { ...entry, ...card, problems: [...entry.problems, ...card.problems] }
      }
    } else if (!usable.has(name.slice(0, -CARD_SUFFIX.length))) {
      const card = readCard(archive, file, label(file))
      yield { name, kind: 'card', ...card, problems: [{ ...NO_IMAGE, file: label(file) }, ...card.problems] }
    }
  }
}

/** What a desktop system packed along; macOS keeps shadows of the files in a folder of their own. */
const isJunk = (name: string): boolean =>
  name.startsWith('__MACOSX/') || junkOf(name.slice(name.lastIndexOf('/') + 1)) !== undefined

const JUNK: Problem = {
  code: 'zip.junk',
  message: 'A desktop system left this file; it is no image.',
}
const TWICE: Problem = {
  code: 'zip.twice',
  message: 'The archive has two entries of this name; the first one counts.',
  remedy: 'Get the archive again from where it came from.',
}
const NO_IMAGE: Problem = {
  code: 'zip.no-image',
  message: 'The image that this card describes is not in the archive.',
  remedy: 'Get the image from where the card came from.',
}
const NESTED: Problem = {
  code: 'zip.nested',
  message: 'This is an archive within the archive; it was not opened.',
  remedy: 'Unpack it, and choose the archive or the images inside.',
}

function imageEntry(archive: Uint8Array, file: ZipFile, label: string, options: InspectOptions): ZipEntry {
  const { name } = file
  const octets = unpack(archive, file)
  if (!(octets instanceof Uint8Array)) return { name, kind: 'other', problems: [{ ...octets, file: label }] }
  if (isZip(octets)) return { name, kind: 'other', problems: [{ ...NESTED, file: label }] }
  const image = inspectImage(octets, label, options)
  if (!image.ok) return { name, kind: 'other', problems: image.problems }
  return { name, kind: 'image', image: image.value, octets, problems: image.value.problems }
}

type CardRead = Pick<ZipEntry, 'card' | 'cardText' | 'problems'>

function readCard(archive: Uint8Array, file: ZipFile, label: string): CardRead {
  // A character takes four octets at most.
  if (file.bytes > 4 * MAX_CARD_CHARACTERS) return { problems: [{ ...TOO_LARGE, file: label }] }
  const octets = unpack(archive, file)
  if (!(octets instanceof Uint8Array)) return { problems: [{ ...octets, file: label }] }
  const cardText = new TextDecoder().decode(octets)
  const card = readImageCard(cardText, label)
  return card.ok ? { card: card.value, cardText, problems: [] } : { cardText, problems: card.problems }
}

const TOO_LARGE: Problem = {
  code: 'card.too-large',
  message: 'The entry is too large to be an image card.',
  expected: `at most ${MAX_CARD_CHARACTERS} characters`,
  remedy: 'Get the image card again from where it came from.',
}
