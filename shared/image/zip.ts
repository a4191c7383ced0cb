import { junkOf } from '../card/junk.ts'
import { type Problem, type Result, succeeded } from '../model/problem.ts'
import { type ImageCard, MAX_CARD_CHARACTERS, readImageCard } from './image-card.ts'
import { type InspectedImage, type InspectOptions, inspectImage } from './inspect.ts'
import { pairFiles } from './pairing.ts'
import { isZip } from './recognise.ts'
import { readZipDirectory, type ZipFile } from './zip-directory.ts'
import { unpack } from './zip-inflate.ts'

/**
 * Images and their cards out of a ZIP archive, one at a time, so that no more than one is in memory. What is wrong
 * with one file is said of that file and keeps no other out. Archives within the archive are not opened.
 */

/** The card of NAME is best called NAME.card.json; see pairing.ts for what else is understood. */
export const CARD_SUFFIX = '.card.json'

/** One file of an archive, unpacked but not yet read. */
export interface UnpackedFile {
  /** With its folders; as it may be shown, and not to be used as a path. */
  readonly name: string
  /** As messages name it: `finch/a.hex in club.zip`. */
  readonly label: string
  /** As it was packed; undefined where it could not be unpacked, is an archive again, or is a card without an image. */
  readonly octets?: Uint8Array
  /** The text of the image card that belongs to it; for a card without an image, its own. */
  readonly cardText?: string
  readonly cardLabel?: string
  readonly isCard: boolean
  readonly problems: readonly Problem[]
}

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
 * those of unpackZip, of inspectImage and of readImageCard.
 */
export function readZip(
  octets: Uint8Array,
  fileName: string,
  options: InspectOptions,
): Result<Iterable<ZipEntry>> {
  const unpacked = unpackZip(octets, fileName)
  if (!unpacked.ok) return unpacked
  return succeeded(entriesOf(unpacked.value, options))
}

function* entriesOf(unpacked: Iterable<UnpackedFile>, options: InspectOptions): Generator<ZipEntry> {
  for (const file of unpacked) {
    const { name, octets, label } = file
    if (file.isCard) {
      const card = cardIn(file)
      yield { name, kind: 'card', ...card, problems: [...file.problems, ...card.problems] }
      continue
    }
    const image = octets && inspectImage(octets, label, options)
    if (!image?.ok) yield { name, kind: 'other', problems: [...file.problems, ...(image?.problems ?? [])] }
    else {
      const card = cardIn(file)
      const problems = [...image.value.problems, ...file.problems, ...card.problems]
      yield { name, kind: 'image', image: image.value, octets, ...card, problems }
    }
  }
}

type CardRead = Pick<ZipEntry, 'card' | 'cardText' | 'problems'>

function cardIn({ cardText, cardLabel, label }: UnpackedFile): CardRead {
  if (cardText === undefined) return { problems: [] }
  const card = readImageCard(cardText, cardLabel ?? label)
  return card.ok ? { card: card.value, cardText, problems: [] } : { cardText, problems: card.problems }
}

/**
 * @param only unpacks the file of this name alone
 * @returns the files of the archive in the order of its directory, folders and cards that belong to an image left
 * out; each is unpacked when it is asked for. Or the problems of readZipDirectory. Problems of a file: `zip.name`,
 * `zip.twice`, `zip.junk`, those of unpack, `zip.nested`, `zip.no-image` (a card without one), `zip.card` (a card
 * that could belong to more than one), `card.too-large`.
 */
export function unpackZip(
  octets: Uint8Array,
  fileName: string,
  only?: string,
): Result<Iterable<UnpackedFile>> {
  const directory = readZipDirectory(octets, fileName)
  return directory.ok ? succeeded(filesOf(octets, fileName, directory.value, only)) : directory
}

function* filesOf(
  archive: Uint8Array,
  archiveName: string,
  files: readonly ZipFile[],
  only: string | undefined,
): Generator<UnpackedFile> {
  const usable = new Map<string, ZipFile>()
  for (const file of files)
    if (!file.isFolder && file.nameProblem === undefined && !isJunk(file.name) && !usable.has(file.name))
      usable.set(file.name, file)
  const { images, strays } = pairFiles([...usable.values()])
  const cardOf = new Map(images.map(({ file, card }) => [file, card]))
  const strayOf = new Map(strays.map(stray => [stray.file, stray]))
  const labelOf = ({ name }: ZipFile) => `${name} in ${archiveName}`
  for (const file of files) {
    const { name } = file
    if (only !== undefined && name !== only) continue
    const label = labelOf(file)
    const problem = file.nameProblem ?? (file.isFolder ? undefined : whyNot(file, usable))
    if (problem !== undefined) yield { name, label, isCard: false, problems: [{ ...problem, file: label }] }
    else if (file.isFolder) continue
    else if (cardOf.has(file)) yield imageFile(archive, file, cardOf.get(file), labelOf)
    else {
      const stray = strayOf.get(file)
      if (stray === undefined) continue
      const why = stray.hasImage ? { code: 'zip.card', message: stray.why } : NO_IMAGE
      yield strayFile(archive, file, label, why)
    }
  }
}

function whyNot(file: ZipFile, usable: ReadonlyMap<string, ZipFile>): Problem | undefined {
  if (isJunk(file.name)) return JUNK
  return usable.get(file.name) === file ? undefined : TWICE
}

function imageFile(
  archive: Uint8Array,
  file: ZipFile,
  cardFile: ZipFile | undefined,
  labelOf: (file: ZipFile) => string,
): UnpackedFile {
  const [{ name }, label] = [file, labelOf(file)]
  const octets = unpack(archive, file)
  const no = (problem: Problem): UnpackedFile => ({
    name,
    label,
    isCard: false,
    problems: [{ ...problem, file: label }],
  })
  if (!(octets instanceof Uint8Array)) return no(octets)
  if (isZip(octets)) return no(NESTED)
  if (cardFile === undefined) return { name, label, octets, isCard: false, problems: [] }
  const cardLabel = labelOf(cardFile)
  return { name, label, octets, cardLabel, isCard: false, ...textOfCard(archive, cardFile, cardLabel) }
}

/** A card that belongs to no image; other JSON files may be anything, and are read as what they are. */
function strayFile(archive: Uint8Array, file: ZipFile, label: string, problem: Problem): UnpackedFile {
  const { name } = file
  const text = textOfCard(archive, file, label)
  if (!name.toLowerCase().endsWith(CARD_SUFFIX) && !/"structureVersion"/.test(text.cardText ?? ''))
    return imageFile(archive, file, undefined, () => label)
  return { name, label, isCard: true, ...text, problems: [{ ...problem, file: label }, ...text.problems] }
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

function textOfCard(
  archive: Uint8Array,
  file: ZipFile,
  label: string,
): Pick<UnpackedFile, 'cardText' | 'problems'> {
  // A character takes four octets at most.
  if (file.bytes > 4 * MAX_CARD_CHARACTERS) return { problems: [{ ...TOO_LARGE, file: label }] }
  const octets = unpack(archive, file)
  if (!(octets instanceof Uint8Array)) return { problems: [{ ...octets, file: label }] }
  return { cardText: new TextDecoder().decode(octets), problems: [] }
}

const TOO_LARGE: Problem = {
  code: 'card.too-large',
  message: 'The entry is too large to be an image card.',
  expected: `at most ${MAX_CARD_CHARACTERS} characters`,
  remedy: 'Get the image card again from where it came from.',
}
