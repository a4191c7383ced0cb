import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import type { PayloadFormat } from './image-card.ts'
import { UF2_BLOCK_BYTES, UF2_MAGIC } from './uf2-block.ts'

/**
 * What a file is, by its content; its name says nothing. Whatever is not known to be something else is raw binary,
 * so the list of what is something else matters: a downloaded archive or web page must not end up in a receiver.
 */

const KNOWN_FORMATS = 'an Intel HEX, S-record or UF2 file, or a raw binary image'
/** Shorter files may be printable by chance. */
const TEXT_FROM_BYTES = 64

/**
 * First octets of files that people get by mistake, or that lie in an archive beside the image: gzip (RFC 1952), bzip2,
 * xz, 7z, rar, ELF (System V ABI), PDF (ISO 32000), PNG (W3C), JPEG (ITU-T T.81).
 */
const NOT_IMAGES: readonly { code: string; begins: readonly number[]; what: string; remedy: string }[] = [
  {
    code: 'format.gzip',
    begins: [0x1f, 0x8b, 0x08],
    what: 'a gzip archive',
    remedy: 'Unpack it and choose the image inside.',
  },
  {
    code: 'format.elf',
    begins: [0x7f, 0x45, 0x4c, 0x46],
    what: 'an ELF file, as a compiler makes it',
    remedy: 'Have the compiler’s tools turn it into Intel HEX or a raw binary first.',
  },
  ...[
    [0x42, 0x5a, 0x68],
    [0xfd, 0x37, 0x7a, 0x58, 0x5a, 0x00],
    [0x37, 0x7a, 0xbc, 0xaf, 0x27, 0x1c],
    [0x52, 0x61, 0x72, 0x21, 0x1a, 0x07],
  ].map(begins => ({
    code: 'format.archive',
    begins,
    what: 'an archive of a kind that cannot be opened here',
    remedy: 'Unpack it and choose the image inside.',
  })),
  ...[
    [0x25, 0x50, 0x44, 0x46, 0x2d],
    [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a],
    [0xff, 0xd8, 0xff, 0xe0],
    [0xff, 0xd8, 0xff, 0xe1],
  ].map(begins => ({
    code: 'format.document',
    begins,
    what: 'a document or a picture',
    remedy: 'Choose the image file for the receiver; this one is for people to read.',
  })),
]

/** ZIP: local file header, and the end of the central directory (APPNOTE 4.3.7 and 4.3.16). */
const ZIP_BEGINS = [0x50, 0x4b, 0x03, 0x04]
const ZIP_END = [0x50, 0x4b, 0x05, 0x06]
const ZIP_END_BYTES = 22

/**
 * @returns the format; or `format.empty`, `format.zip` (see zip.ts), `format.gzip`, `format.archive`, `format.elf`,
 * `format.document`, `format.program`, `format.text` for what is no image by itself
 */
export function recogniseFormat(octets: Uint8Array, fileName: string): Result<PayloadFormat> {
  const no = (code: string, message: string, remedy: string): Result<never> =>
    failed({ code, message, file: fileName, expected: KNOWN_FORMATS, remedy } satisfies Problem)
  if (octets.length === 0)
    return no('format.empty', 'The file is empty.', 'It may not have been copied completely: get it again.')
  if (looksLikeUf2(octets)) return succeeded('uf2')
  if (isZip(octets))
    return no(
      'format.zip',
      'This is a ZIP archive, not an image.',
      'Unpack it and choose the image inside, or bring it into the library as it is.',
    )
  const other = NOT_IMAGES.find(kind => beginsWith(octets, kind.begins))
  if (other !== undefined) return no(other.code, `This is ${other.what}, not an image.`, other.remedy)
  if (isWindowsProgram(octets))
    return no(
      'format.program',
      'This is a program for Windows, not an image.',
      'See whether the image is there by itself; do not run programs that you do not know.',
    )
  if (looksLikeHex(octets)) return succeeded('intel-hex')
  if (looksLikeSRecord(octets)) return succeeded('s-record')
  if (octets.length >= TEXT_FROM_BYTES && isProse(octets))
    return no(
      'format.text',
      'This is a text file, not an image; a download that failed often leaves one.',
      'Open it to see what it says, and get the image again.',
    )
  return succeeded('raw')
}

/** Whether a file is a ZIP archive, also when its first entry is damaged, or when it is empty. */
export function isZip(octets: Uint8Array): boolean {
  if (beginsWith(octets, ZIP_BEGINS)) return true
  return octets.length >= ZIP_END_BYTES && beginsWith(octets.subarray(octets.length - ZIP_END_BYTES), ZIP_END)
}

/** MZ, and PE 00 00 at the place that the first header names (Microsoft PE format). */
function isWindowsProgram(octets: Uint8Array): boolean {
  if (octets.length < 0x40 || octets[0] !== 0x4d || octets[1] !== 0x5a) return false
  const at = octets[0x3c] | (octets[0x3d] << 8)
  return beginsWith(octets.subarray(at), [0x50, 0x45, 0, 0])
}

/** Also when blocks are damaged: such a file must not be taken for raw. */
function looksLikeUf2(octets: Uint8Array): boolean {
  const view = new DataView(octets.buffer, octets.byteOffset, octets.length)
  for (let at = 0; at + 8 <= octets.length; at += UF2_BLOCK_BYTES)
    if (view.getUint32(at, true) === UF2_MAGIC[0] && view.getUint32(at + 4, true) === UF2_MAGIC[1])
      return true
  return false
}

const beginsWith = (octets: Uint8Array, begins: readonly number[]): boolean =>
  octets.length >= begins.length && begins.every((octet, i) => octets[i] === octet)

/** The first characters after a byte-order mark, blanks and line ends; enough for the head of a record. */
function head(octets: Uint8Array): string {
  const isSpace = (code: number) => code === 0x20 || (code >= 0x09 && code <= 0x0d)
  let at = beginsWith(octets, [0xef, 0xbb, 0xbf]) ? 3 : 0
  while (at < octets.length && isSpace(octets[at])) at++
  return String.fromCharCode(...octets.subarray(at, at + 12))
}

/**
 * Also when the first line is damaged: a file with lines that begin like records must not be taken for raw. One such
 * line is enough in a text; a file with other octets in it needs several whole ones.
 */
function looksLikeHex(octets: Uint8Array): boolean {
  if (/^:[0-9a-f]{8}/i.test(head(octets))) return true
  const text = firstText(octets)
  if (wholeRecords(text, /^:[0-9a-f]{10,}\s*$/i)) return true
  return /(^|[\r\n])\s*:[0-9a-f]{8}/i.test(text) && isText(octets)
}

function looksLikeSRecord(octets: Uint8Array): boolean {
  if (/^S[0-9][0-9a-f]{8}/i.test(head(octets))) return true
  const text = firstText(octets)
  if (wholeRecords(text, /^S[0-9][0-9a-f]{8,}\s*$/i)) return true
  return /(^|[\r\n])\s*S[0-9][0-9a-f]{8}/i.test(text) && isText(octets)
}

const SEVERAL = 3

function wholeRecords(text: string, record: RegExp): boolean {
  let found = 0
  for (const line of text.slice(0, 8192).split(/[\r\n]+/))
    if (record.test(line) && ++found >= SEVERAL) return true
  return false
}

/** The first 64 KiB as characters; nobody puts a longer preface before the first record. */
function firstText(octets: Uint8Array): string {
  let text = ''
  for (let at = 0; at < Math.min(octets.length, 65_536); at += 4096)
    text += String.fromCharCode(...octets.subarray(at, at + 4096))
  return text
}

/** Nothing but printable characters (UTF-8 allowed), tabs and line ends. */
function isText(octets: Uint8Array): boolean {
  for (const octet of octets) {
    if (octet >= 0x20 && octet !== 0x7f && octet < 0xf5) continue
    if ((octet >= 0x09 && octet <= 0x0d) || octet === 0x1a) continue
    return false
  }
  return true
}

/** Text with words in it. A block of one repeated printable octet is a fair raw image. */
function isProse(octets: Uint8Array): boolean {
  if (!isText(octets)) return false
  let ascii = 0
  let spaces = 0
  for (const octet of octets) {
    if (octet < 0x80) ascii++
    if (octet === 0x20 || octet === 0x0a) spaces++
  }
  return spaces > 0 && spaces < octets.length / 2 && ascii >= octets.length * 0.75
}
