import { buildImage } from '../../shared/image/build.ts'
import { readImageCard, writeImageCard } from '../../shared/image/image-card.ts'
import { inspectImage } from '../../shared/image/inspect.ts'
import { readIntelHex } from '../../shared/image/intel-hex.ts'
import { isZip } from '../../shared/image/recognise.ts'
import { readSRecords } from '../../shared/image/s-record.ts'
import { endOf, type Segment } from '../../shared/image/segments.ts'
import { publicKeyOf, readTrustedKeys, signCard } from '../../shared/image/signature.ts'
import { readUf2 } from '../../shared/image/uf2.ts'
import { UF2_TAGS } from '../../shared/image/uf2-block.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { readZip } from '../../shared/image/zip.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import { dice } from '../../shared/sim/dice.ts'
import { makeZip } from './zip.ts'

/** Files that are damaged at random, by a seed, and what a reader owes for each: an image, or an error with a place. */

export type Kind = 'raw' | 'intel-hex' | 's-record' | 'uf2' | 'zip' | 'card' | 'keys'
export interface Original {
  readonly name: string
  readonly kind: Kind
  readonly octets: Uint8Array
}
/** A whole number from least to most, both among them. */
export type Chance = (least: number, most: number) => number

export function chanceOf(seed: number, purpose: string): Chance {
  const { between } = dice(seed, purpose)
  return (least, most) => Math.floor(between(least, most + 1))
}

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text)

/** One sound file of each sort, a few thousand octets long. */
export function originals(): Original[] {
  const { segments, card } = buildImage({
    typeId: 'aldwick-finch-4',
    typeName: 'Finch 4',
    vendorName: 'Aldwick',
    version: '1.2.0',
    sequenceNumber: 12,
    generation: 1,
    bands: ['2.4GHz'],
    region: 'lbt',
    hardwareRevisions: ['A'],
    wirelessCapable: false,
    programAddress: 0x08002000,
    sizeBytes: 2048,
    releaseNotes: 'Größer.',
  })
  const { octets } = segments[0]
  const low = [
    { address: 0xff80, octets: octets.subarray(0, 700) },
    { address: 0x20000, octets: octets.subarray(700) },
  ]
  const secret = new Uint8Array(32).fill(3)
  const cardText = writeImageCard(signCard(card, 'aldwick-2026', secret))
  const key = {
    keyId: 'aldwick-2026',
    maker: 'Aldwick',
    publicKey: publicKeyOf(secret),
    added: '2026-11-25T09:00:00Z',
  }
  const hex = writeIntelHex(segments, { startLinear: 0x08002301 })
  const tags = [{ type: UF2_TAGS.version, octets: utf8('1.2.0') }]
  const uf2 = writeUf2(low, { familyId: 0x5ee21072, md5: true, tags })
  const file = (name: string, kind: Kind, content: string | Uint8Array): Original => ({
    name,
    kind,
    octets: typeof content === 'string' ? utf8(content) : content,
  })
  return [
    file('a.bin', 'raw', octets),
    file('linear.hex', 'intel-hex', hex),
    file('segmented.hex', 'intel-hex', writeIntelHex(low, { addressing: 'segmented', lineEnd: '\r\n' })),
    file('short.s19', 's-record', writeSRecords([low[0]], { header: 'finch', addressBits: 24 })),
    file('long.s37', 's-record', writeSRecords(segments, { startAddress: 0x08002301 })),
    file('plain.uf2', 'uf2', writeUf2(segments)),
    file('full.uf2', 'uf2', uf2),
    file(
      'two.uf2',
      'uf2',
      new Uint8Array([...uf2, ...writeUf2(segments, { familyId: 7, payloadOctets: 476 })]),
    ),
    file(
      'club.zip',
      'zip',
      makeZip([
        { name: 'finch/a.hex', content: hex },
        { name: 'finch/a.hex.card.json', content: cardText },
        { name: 'finch/b.bin', content: octets, stored: true },
        { name: 'finch/c.uf2', content: uf2 },
      ]),
    ),
    file('a.card.json', 'card', cardText),
    file('keys.json', 'keys', JSON.stringify([key], null, 1)),
  ]
}

const TELLING_OCTETS = [0x00, 0xff, 0x7f, 0x80, 0x0a, 0x0d, 0x20, 0x30, 0x3a, 0x53, 0x22, 0x7b, 0x5c]
const TELLING_WORDS = [0, 1, 0x7fff_ffff, 0x8000_0000, 0xffff_ffff, 0xffff_fffe, 0xffff, 0x1_0000, 476, 512]

/** The file with one to four changes. */
export function mutate(octets: Uint8Array, others: readonly Original[], chance: Chance): Uint8Array {
  let mutant: Uint8Array = octets.slice()
  for (let n = chance(1, 4); n > 0; n--)
    mutant = CHANGES[chance(0, CHANGES.length - 1)](mutant, chance, others)
  return mutant
}

type Change = (octets: Uint8Array, chance: Chance, others: readonly Original[]) => Uint8Array

const place = (octets: Uint8Array, chance: Chance): number => chance(0, Math.max(0, octets.length - 1))
const join = (...parts: readonly Uint8Array[]): Uint8Array => {
  const whole = new Uint8Array(parts.reduce((n, p) => n + p.length, 0))
  let at = 0
  for (const part of parts) {
    whole.set(part, at)
    at += part.length
  }
  return whole
}
const inPlace =
  (change: (octets: Uint8Array, at: number, chance: Chance) => void): Change =>
  (octets, chance) => {
    if (octets.length > 0) change(octets, place(octets, chance), chance)
    return octets
  }
/** From a place, a run that is mostly short. */
const run = (octets: Uint8Array, chance: Chance): [number, number] => {
  const at = place(octets, chance)
  return [at, Math.min(octets.length, at + chance(1, chance(0, 9) === 0 ? 1024 : 16))]
}

const CHANGES: readonly Change[] = [
  inPlace((octets, at, chance) => {
    octets[at] ^= 1 << chance(0, 7)
  }),
  inPlace((octets, at, chance) => {
    octets[at] = chance(0, 255)
  }),
  inPlace((octets, at, chance) => {
    octets[at] = TELLING_OCTETS[chance(0, TELLING_OCTETS.length - 1)]
  }),
  inPlace((octets, at, chance) => {
    const word = TELLING_WORDS[chance(0, TELLING_WORDS.length - 1)]
    const from = at - (at % 4)
    for (let i = 0; i < 4 && from + i < octets.length; i++) octets[from + i] = word >>> (8 * i)
  }),
  inPlace((octets, at, chance) => {
    // Another digit: the change that a checksum is for.
    for (let i = at; i < octets.length; i++)
      if (octets[i] >= 0x30 && octets[i] <= 0x39) {
        octets[i] = 0x30 + chance(0, 9)
        return
      }
  }),
  (octets, chance) => octets.slice(0, place(octets, chance)),
  (octets, chance) => {
    const [from, to] = run(octets, chance)
    return join(octets.subarray(0, from), octets.subarray(to))
  },
  (octets, chance) => {
    const [from, to] = run(octets, chance)
    return join(octets.subarray(0, to), octets.subarray(from))
  },
  (octets, chance) => {
    const [from, to] = run(octets, chance)
    const at = place(octets, chance)
    return join(octets.subarray(0, at), octets.subarray(from, to), octets.subarray(at))
  },
  (octets, chance, others) => {
    const other = others[chance(0, others.length - 1)].octets
    return join(octets.subarray(0, place(octets, chance)), other.subarray(place(other, chance)))
  },
]

export interface Tally {
  images: number
  errors: number
  /** Of other formats, but so damaged that they were taken for raw binary. */
  asRaw: number
  /** Milliseconds of wall time for the slowest; for the record only. */
  slowestMs: number
}

export const emptyTally = (): Tally => ({ images: 0, errors: 0, asRaw: 0, slowestMs: 0 })

/** Gives the mutant to the readers that would get it. @throws Error that says what a reader owed and did not give */
export function readMutant(kind: Kind, octets: Uint8Array, tally: Tally): void {
  if (kind === 'card') return count(readImageCard(new TextDecoder().decode(octets), 'm'), tally)
  if (kind === 'keys') return count(readTrustedKeys(new TextDecoder().decode(octets), 'm'), tally)
  if (isZip(octets) || kind === 'zip') {
    const zip = readZip(octets, 'm', { rawAddress: 0 })
    if (!zip.ok) return count(zip, tally)
    let images = 0
    for (const entry of zip.value) {
      if (entry.image !== undefined) {
        images++
        owedImage(entry.image.segments, entry.image.sha256)
      } else owedProblems(entry.problems)
    }
    if (images > 0) tally.images++
    else tally.errors++
    return
  }
  const inspected = inspectImage(octets, 'm', { rawAddress: 0 })
  if (inspected.ok) {
    owedImage(inspected.value.segments, inspected.value.sha256)
    if (inspected.value.format === 'raw' && kind !== 'raw') tally.asRaw++
  }
  count(inspected, tally)
  // What is so damaged that it looks like another kind goes to its own reader as well.
  if (kind === 'intel-hex' && !inspected.ok) owed(readIntelHex(octets, 'm'))
  if (kind === 's-record' && !inspected.ok) owed(readSRecords(octets, 'm'))
  if (kind === 'uf2' && !inspected.ok)
    for (const familyId of [7, undefined]) owed(readUf2(octets, 'm', { familyId }))
}

function count(result: Result<unknown>, tally: Tally): void {
  if (result.ok) tally.images++
  else {
    owedProblems(result.problems)
    tally.errors++
  }
}

function owed(result: Result<{ readonly segments: readonly Segment[] }>): void {
  if (result.ok) owedImage(result.value.segments, '0'.repeat(64))
  else owedProblems(result.problems)
}

function owedImage(segments: readonly Segment[], sha256: string): void {
  if (segments.length === 0 || !/^[0-9a-f]{64}$/.test(sha256))
    throw new Error('an image without octets or digest')
  let before = -1
  for (const segment of segments) {
    if (segment.octets.length === 0 || segment.address <= before || endOf(segment) > 2 ** 32)
      throw new Error(`a segment out of order or out of reach at ${segment.address}`)
    before = endOf(segment)
  }
}

/** Of the whole file, not of one place in it. */
const OF_THE_FILE = /^(format\.|raw\.|image\.|zip\.|.*\.(too-large|scattered|empty|families|family)$)/

function owedProblems(problems: readonly Problem[]): void {
  if (problems.length === 0) throw new Error('neither an image nor an error')
  for (const { code, message, file, line, field } of problems) {
    const placed = line !== undefined ? line >= 1 : field !== undefined
    if (message === '' || file === undefined || !(placed || OF_THE_FILE.test(code)))
      throw new Error(`${code} says neither where nor why: ${message}`)
  }
}

/**
 * `count` mutants of the files in turn, spliced with any of `others`.
 * @throws Error that names the seed and the number of the mutant
 */
export function tryMutants(
  files: readonly Original[],
  others: readonly Original[],
  count: number,
  seed: number,
): Tally {
  const tally = emptyTally()
  for (let n = 0; n < count; n++) {
    const { name, kind, octets } = files[n % files.length]
    const mutant = mutate(octets, others, chanceOf(seed, `${n}`))
    const started = performance.now()
    try {
      readMutant(kind, mutant, tally)
      tally.slowestMs = Math.max(tally.slowestMs, performance.now() - started)
    } catch (error) {
      throw new Error(`mutant ${n} of seed ${seed}, made from ${name}: ${String(error)}`, { cause: error })
    }
  }
  return tally
}
