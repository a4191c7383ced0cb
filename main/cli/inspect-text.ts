import { digestWords } from '../../shared/image/digest.ts'
import type { ImageCard } from '../../shared/image/image-card.ts'
import type { InspectedImage } from '../../shared/image/inspect.ts'
import { sayAddress } from '../../shared/image/segments.ts'
import type { Judged } from '../../shared/image/signature.ts'
import type { ZipEntry } from '../../shared/image/zip.ts'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'

/** What `inspect` says of an image. */

/** An image with all that is to be said of it. */
export interface About {
  /** Of an archive's entry that with its folders. */
  readonly name: string
  readonly image: InspectedImage
  readonly card: ImageCard | undefined
  readonly signature: Judged | undefined
  readonly problems: readonly Problem[]
  /** Something speaks against using it. */
  readonly against: boolean
}

/** For `--json`. */
export const reportOf = ({ image, card, signature, problems }: About) => ({
  file: image.fileName,
  format: image.format,
  /** Octets of the payload, gaps not counted. */
  bytes: image.payloadBytes,
  fileBytes: image.fileBytes,
  segments: image.segments.map(s => ({ address: s.address, length: s.octets.length })),
  startAddress: image.startAddress ?? null,
  sha256: image.sha256,
  crc32: image.crc32,
  words: digestWords(image.sha256),
  embedded: image.embedded ?? null,
  card: card ?? null,
  signature:
    signature === undefined ? null : { verdict: signature.verdict, maker: signature.key?.maker ?? null },
  problems,
})

const FORMAT_NAMES: Readonly<Record<InspectedImage['format'], string>> = {
  raw: 'raw binary',
  'intel-hex': 'Intel HEX',
  's-record': 'Motorola S-record',
  uf2: 'UF2',
}
const MOST_SEGMENTS_SHOWN = 8
const VERDICTS: Readonly<Record<Judged['verdict'], string>> = {
  good: 'good',
  bad: 'BAD: do not use this image',
  missing: 'none',
  'unknown-key': 'by a key that is not among your trusted keys',
}

/** For people. */
export function textOf({ name, image, card, signature, problems }: About): string {
  const { segments, embedded, startAddress } = image
  const lines = [
    `${name}: ${FORMAT_NAMES[image.format]}, ${image.payloadBytes} octets`,
    ...segments
      .slice(0, MOST_SEGMENTS_SHOWN)
      .map(s => `  ${s.octets.length} octets from ${sayAddress(s.address)}`),
  ]
  if (segments.length > MOST_SEGMENTS_SHOWN)
    lines.push(`  and ${segments.length - MOST_SEGMENTS_SHOWN} pieces more`)
  if (startAddress !== undefined) lines.push(`  starts at ${sayAddress(startAddress)}`)
  lines.push(`  SHA-256 ${image.sha256}`, `  in words ${digestWords(image.sha256)}`)
  if (embedded !== undefined)
    lines.push(`  says itself: version ${embedded.version}, link generation ${embedded.generation}`)
  if (card === undefined) lines.push('  no image card: what it is for is not known')
  else lines.push(`  image card: ${card.typeId}, version ${card.version}`)
  if (signature !== undefined) lines.push(`  signature: ${VERDICTS[signature.verdict]}`)
  return `${[...lines, ...problems.map(p => `  note: ${sayProblem(p)}`)].join('\n')}\n`
}

/** For an entry of an archive that is no image. */
export const textOfOther = ({ name, problems }: ZipEntry): string =>
  `${name}: no image\n${problems.map(p => `  note: ${sayProblem(p)}\n`).join('')}`
