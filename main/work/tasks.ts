import { type ImageCard, readImageCard } from '../../shared/image/image-card.ts'
import { inspectImage } from '../../shared/image/inspect.ts'
import { isZip } from '../../shared/image/recognise.ts'
import { type Comparison, comparePayloads } from '../../shared/image/same-payload.ts'
import { type Judged, judgeSignature, type TrustedKey } from '../../shared/image/signature.ts'
import { sayFamily } from '../../shared/image/uf2.ts'
import { type Uf2Family, uf2Families, uf2FamilyPart } from '../../shared/image/uf2-families.ts'
import { type UnpackedFile, unpackZip } from '../../shared/image/zip.ts'
import { entryOf, type LibraryEntry } from '../../shared/library/entry.ts'
import { isNamedAsImage, unlikely } from '../../shared/library/folder-rules.ts'
import type { Problem } from '../../shared/model/problem.ts'

/** What the workers are asked to do: all that reads files from outside, or takes its time over their octets. */

/** Reads an image, or each image of a ZIP archive. */
export interface ReadTask {
  readonly do: 'read'
  readonly fileName: string
  readonly octets: Uint8Array
  readonly cardText?: string
  /** Of an archive, the one file to read. */
  readonly only?: string
  /** Of a UF2 file for several families of controllers, those whose images are wanted. */
  readonly families?: readonly Uf2Family[]
  /** It is one of many that nobody has chosen by itself. */
  readonly among?: boolean
  /** ISO time. */
  readonly imported: string
}

/** What became of one file. */
export interface ReadItem {
  readonly fileName: string
  /** The archive it was in. */
  readonly within?: string
  readonly entry?: LibraryEntry
  /** Where they are not the octets that came with the task: unpacked, or one family's part. */
  readonly octets?: Uint8Array
  /** There are several, and one has to be chosen. */
  readonly families?: readonly Uf2Family[]
  readonly problems: readonly Problem[]
}

/** Compares images that share a payloadKey. */
export interface CompareTask {
  readonly do: 'compare'
  readonly a: Uint8Array
  readonly b: Uint8Array
}

export interface JudgeTask {
  readonly do: 'judge'
  readonly signed: readonly { readonly card: ImageCard; readonly sha256: string }[]
  readonly keys: readonly TrustedKey[]
}

export type Task = ReadTask | CompareTask | JudgeTask

/** Carries a task out piece by piece: each value it yields is handed over before it goes on. */
export function carryOut(task: Task): Generator<ReadItem | Comparison | Judged> {
  switch (task.do) {
    case 'read':
      return readFile(task)
    case 'compare':
      return compare(task)
    case 'judge':
      return judge(task)
  }
}

function* readFile(task: ReadTask): Generator<ReadItem> {
  const { octets, fileName, only } = task
  if (!isZip(octets)) {
    yield* readImage(task)
    return
  }
  const archive = unpackZip(octets, fileName, only)
  if (!archive.ok) {
    yield { fileName, problems: archive.problems }
    return
  }
  let count = 0
  for (const file of archive.value) {
    count++
    for (const item of readUnpacked(file, task)) yield { ...item, within: fileName }
  }
  if (count === 0) yield { fileName, problems: [emptyArchive(fileName)] }
}

function* readUnpacked(file: UnpackedFile, task: ReadTask): Generator<ReadItem> {
  const { name, label, octets, cardText, problems } = file
  if (octets === undefined) {
    yield { fileName: name, problems }
    return
  }
  for (const item of readImage({ ...task, among: true, fileName: name, octets, cardText }, label)) {
    // What is wrong with its card does not keep the image out.
    const entry = item.entry && { ...item.entry, problems: [...item.entry.problems, ...problems] }
    yield { octets, ...item, ...(entry ? { entry } : {}) }
  }
}

/** A path in an archive or a folder is no file name; the entry takes its last part. */
export const lastPart = (path: string): string => path.slice(path.lastIndexOf('/') + 1).slice(-255) || path

function* readImage(task: ReadTask, label = task.fileName): Generator<ReadItem> {
  const { fileName, octets, cardText, imported } = task
  if (task.families !== undefined) {
    for (const family of task.families) yield readFamily(task, family)
    return
  }
  const read = entryOf({ fileName: label, octets, cardText }, imported)
  if (read.ok) {
    const { card, format, embedded } = read.value
    const saysWhat = format !== 'raw' || card !== null || embedded !== undefined || isNamedAsImage(fileName)
    if (task.among && !saysWhat) yield { fileName, problems: [unlikely(label)] }
    else yield { fileName, entry: { ...read.value, fileName: lastPart(fileName) }, problems: [] }
    return
  }
  const isChoice = read.problems.some(p => p.code === 'uf2.families')
  yield { fileName, problems: read.problems, ...(isChoice ? { families: uf2Families(octets) } : {}) }
}

function readFamily(task: ReadTask, family: Uf2Family): ReadItem {
  const octets = uf2FamilyPart(task.octets, family)
  const fileName = familyName(task.fileName, family)
  const cardText = cardOfPart(task.cardText, octets, fileName)
  const read = entryOf({ fileName, octets, cardText }, task.imported)
  if (!read.ok) return { fileName, problems: read.problems }
  return { fileName, octets, entry: { ...read.value, fileName: lastPart(fileName) }, problems: [] }
}

/** Each family's image is kept as a file of its own, so it gets a name of its own. */
const familyName = (fileName: string, family: Uf2Family): string => {
  const [, stem, ending] = /^(.*?)(\.[^./]*)?$/s.exec(fileName) ?? ['', fileName, '']
  return `${stem}-${family === null ? 'no-family' : sayFamily(family)}${ending ?? ''}`
}

/** The card beside the file describes one of its images; with the others it has nothing to do. */
function cardOfPart(text: string | undefined, octets: Uint8Array, fileName: string): string | undefined {
  const card = text === undefined ? undefined : readImageCard(text, fileName)
  if (card?.ok !== true) return undefined
  const image = inspectImage(octets, fileName, { rawAddress: 0 })
  return image.ok && image.value.sha256 === card.value.sha256 ? text : undefined
}

const emptyArchive = (file: string): Problem => ({
  code: 'zip.empty',
  message: 'There is no file in this archive.',
  file,
  remedy: 'Get it again from where it came from.',
})

function* compare({ a, b }: CompareTask): Generator<Comparison> {
  const [first, second] = [a, b].map(octets => inspectImage(octets, 'image', { rawAddress: 0 }))
  if (first.ok && second.ok) yield comparePayloads(first.value.segments, second.value.segments)
}

function* judge({ signed, keys }: JudgeTask): Generator<Judged> {
  for (const { card, sha256 } of signed) yield judgeSignature(card, sha256, keys)
}
