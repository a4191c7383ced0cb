import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'

/**
 * The central directory of a ZIP archive, after APPNOTE 6.3.10, sections 4.3.7, 4.3.12 and 4.3.16; one disk, no
 * Zip64, which archives below 4 GiB do not need. Every length and place is checked before it is used.
 */

export const MAX_ZIP_FILE_BYTES = 32 * 1024 * 1024
export const MOST_ZIP_ENTRIES = 2000
/** What all entries together may hold when inflated. */
export const MAX_ZIP_INFLATED_BYTES = 48 * 1024 * 1024

const END = { signature: 0x06054b50, bytes: 22, longestComment: 0xffff }
const CENTRAL = { signature: 0x02014b50, bytes: 46 }
const LOCAL = { signature: 0x04034b50, bytes: 30 }
const FLAG_ENCRYPTED = 0x0001
const MOST_NAME_CHARACTERS = 255

/** One file of the archive, as the directory states it; nothing of it has been proved yet. */
export interface ZipFile {
  /** As it may be shown: control characters as ?, at most 255 characters. */
  readonly name: string
  /** Why it is not to be used because of its name. */
  readonly nameProblem?: Problem
  readonly isFolder: boolean
  readonly encrypted: boolean
  /** 0 stored, 8 deflated, others are not read. */
  readonly method: number
  readonly crc32: number
  readonly packedBytes: number
  readonly bytes: number
  readonly nameOctets: Uint8Array
  readonly localHeaderAt: number
}

const again = 'The archive was damaged or cut off. Get it again from where it came from.'

/**
 * @returns what the archive holds, in the order of its directory; or `zip.too-large`, `zip.no-end`, `zip.kind`,
 * `zip.directory`, `zip.entries`, `zip.inflated`
 */
export function readZipDirectory(octets: Uint8Array, fileName: string): Result<ZipFile[]> {
  const no = (code: string, message: string, expected: string, remedy = again): Result<never> =>
    failed({ code, message, file: fileName, expected, remedy })
  if (octets.length > MAX_ZIP_FILE_BYTES)
    return no(
      'zip.too-large',
      `The archive has ${octets.length} octets.`,
      `at most ${MAX_ZIP_FILE_BYTES}`,
      'Unpack it and choose the images inside.',
    )
  const view = new DataView(octets.buffer, octets.byteOffset, octets.length)
  const end = findEnd(view)
  if (end === undefined)
    return no('zip.no-end', 'The archive’s directory is missing.', 'a directory at the end of the archive')
  const count = view.getUint16(end + 10, true)
  const size = view.getUint32(end + 12, true)
  const from = view.getUint32(end + 16, true)
  if (view.getUint32(end + 4, true) !== 0 || view.getUint16(end + 8, true) !== count || from === 0xffff_ffff)
    return no(
      'zip.kind',
      'The archive is split over several files, or of the kind for very large files.',
      'an ordinary ZIP archive in one file',
      'Unpack it and choose the images inside.',
    )
  if (from + size > end)
    return no(
      'zip.directory',
      'The archive’s directory does not lie within the archive.',
      `a place below ${end}`,
    )
  if (count > MOST_ZIP_ENTRIES)
    return no(
      'zip.entries',
      `The archive has ${count} entries.`,
      `at most ${MOST_ZIP_ENTRIES}`,
      'Unpack it and choose the images inside.',
    )
  const files = readEntries(octets, view, from, from + size, count)
  if (files.length < count)
    return no(
      'zip.directory',
      `Entry ${files.length + 1} of ${count} in the archive’s directory is damaged.`,
      'an entry that lies within the directory',
    )
  const inflated = files.reduce((sum, file) => sum + file.bytes, 0)
  if (inflated > MAX_ZIP_INFLATED_BYTES)
    return no(
      'zip.inflated',
      `The archive says that it holds ${inflated} octets when unpacked.`,
      `at most ${MAX_ZIP_INFLATED_BYTES}`,
      'Unpack only the images that you need, and choose those.',
    )
  return succeeded(files)
}

/** The end record is followed by nothing but its comment. */
function findEnd(view: DataView): number | undefined {
  const least = Math.max(0, view.byteLength - END.bytes - END.longestComment)
  for (let at = view.byteLength - END.bytes; at >= least; at--)
    if (
      view.getUint32(at, true) === END.signature &&
      at + END.bytes + view.getUint16(at + 20, true) === view.byteLength
    )
      return at
  return undefined
}

/** As many entries as are sound. */
function readEntries(octets: Uint8Array, view: DataView, from: number, to: number, count: number): ZipFile[] {
  const files: ZipFile[] = []
  let at = from
  while (files.length < count && at + CENTRAL.bytes <= to && view.getUint32(at, true) === CENTRAL.signature) {
    const nameLength = view.getUint16(at + 28, true)
    const next =
      at + CENTRAL.bytes + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true)
    if (next > to) break
    const nameOctets = octets.subarray(at + CENTRAL.bytes, at + CENTRAL.bytes + nameLength)
    const raw = decodeName(nameOctets)
    files.push({
      name: shown(raw),
      nameProblem: hostileName(raw),
      isFolder: raw.endsWith('/'),
      encrypted: (view.getUint16(at + 8, true) & FLAG_ENCRYPTED) !== 0,
      method: view.getUint16(at + 10, true),
      crc32: view.getUint32(at + 16, true),
      packedBytes: view.getUint32(at + 20, true),
      bytes: view.getUint32(at + 24, true),
      nameOctets,
      localHeaderAt: view.getUint32(at + 42, true),
    })
    at = next
  }
  return files
}

/** UTF-8, which newer programs write; old ones have a code page of their own, whose letters are shown as _. */
function decodeName(octets: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(octets)
  } catch {
    return String.fromCharCode(...octets.map(octet => (octet < 0x80 ? octet : 0x5f)))
  }
}

const shown = (name: string): string =>
  name.replaceAll(/[\p{Cc}\p{Cf}]/gu, '?').slice(0, MOST_NAME_CHARACTERS)

/** Names that would lead out of a folder, or deceive the reader. */
function hostileName(name: string): Problem | undefined {
  const why = [
    [name === '', 'it is empty'],
    [name.length > MOST_NAME_CHARACTERS, `it has more than ${MOST_NAME_CHARACTERS} characters`],
    [name.includes('\\'), 'it has a backslash in it'],
    [/^\/|^[a-z]:/i.test(name), 'it names a place on the whole disk'],
    [name.split('/').some(part => part === '..' || part === '.'), 'it leads to another folder'],
    [/[\p{Cc}\p{Cf}]/u.test(name), 'it has characters in it that cannot be seen'],
  ].find(([holds]) => holds)?.[1]
  if (why === undefined) return undefined
  return {
    code: 'zip.name',
    message: `The entry’s name is not used: ${why}.`,
    expected: 'a plain name, perhaps with folders before it',
    remedy: 'Be careful with this archive: ordinary programs do not write such names.',
  }
}

/**
 * The octets of one entry as they are packed.
 * @returns undefined where the entry's own header is not what the directory says, or the octets are not there
 */
export function packedOctets(octets: Uint8Array, file: ZipFile): Uint8Array | undefined {
  const at = file.localHeaderAt
  if (at + LOCAL.bytes > octets.length) return undefined
  const view = new DataView(octets.buffer, octets.byteOffset, octets.length)
  if (view.getUint32(at, true) !== LOCAL.signature) return undefined
  const nameLength = view.getUint16(at + 26, true)
  const from = at + LOCAL.bytes + nameLength + view.getUint16(at + 28, true)
  if (nameLength !== file.nameOctets.length || from + file.packedBytes > octets.length) return undefined
  for (let i = 0; i < nameLength; i++)
    if (octets[at + LOCAL.bytes + i] !== file.nameOctets[i]) return undefined
  return octets.subarray(from, from + file.packedBytes)
}
