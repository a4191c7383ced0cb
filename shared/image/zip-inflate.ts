import type { Problem } from '../model/problem.ts'
import { crc32 } from '../wire/checksum.ts'
import { inflateInto } from './inflate.ts'
import { packedOctets, type ZipFile } from './zip-directory.ts'

/** Takes one file out of a ZIP archive, never more of it than the archive's directory states. */

/** The largest file that is taken out: a raw image, or the Intel HEX text of one of 1.4 MiB. */
export const MAX_ZIP_ENTRY_BYTES = 4 * 1024 * 1024
/** Deflate needs 5 octets more for each 64 KiB that it cannot pack; whatever grows by more is no honest packing. */
const MOST_GROWTH = 1.02
const GROWTH_ROOM = 64 * 1024

const damaged = 'It was damaged or cut off. Get the archive again from where it came from.'

/** The octets of the file, or `zip.encrypted`, `zip.method`, `zip.entry-size`, `zip.header`, `zip.packed`, `zip.crc`. */
export function unpack(archive: Uint8Array, file: ZipFile): Uint8Array | Problem {
  if (file.encrypted)
    return {
      code: 'zip.encrypted',
      message: 'The entry is locked with a password.',
      remedy: 'Unpack the archive with its password, and choose the image.',
    }
  if (file.method !== 0 && file.method !== 8)
    return {
      code: 'zip.method',
      message: `The entry is packed by method ${file.method}, which cannot be read here.`,
      expected: 'method 0 (stored) or 8 (deflated)',
      remedy: 'Unpack the archive with another program, and choose the image.',
    }
  if (file.bytes > MAX_ZIP_ENTRY_BYTES)
    return {
      code: 'zip.entry-size',
      message: `The entry has ${file.bytes} octets, more than any receiver takes.`,
      expected: `at most ${MAX_ZIP_ENTRY_BYTES}`,
      remedy: 'If it is an image all the same, unpack the archive and choose it.',
    }
  const packed = packedOctets(archive, file)
  if (packed === undefined)
    return {
      code: 'zip.header',
      message: 'The entry is not where the archive’s directory says.',
      remedy: damaged,
    }
  const octets = file.method === 0 ? stored(packed, file.bytes) : inflate(packed, file.bytes)
  if (!(octets instanceof Uint8Array)) return octets
  if (crc32(octets) !== file.crc32)
    return {
      code: 'zip.crc',
      message: 'The entry’s checksum (CRC-32) is not the one that the archive states.',
      remedy: damaged,
    }
  return octets
}

const notAsStated = (message: string): Problem => ({ code: 'zip.packed', message, remedy: damaged })

function stored(packed: Uint8Array, bytes: number): Uint8Array | Problem {
  // A copy, so that the file does not keep the whole archive in memory.
  return packed.length === bytes
    ? packed.slice()
    : notAsStated(`The entry has ${packed.length} octets, and the archive states ${bytes}.`)
}

function inflate(packed: Uint8Array, bytes: number): Uint8Array | Problem {
  if (packed.length > MOST_GROWTH * bytes + GROWTH_ROOM)
    return notAsStated('The entry is longer when packed than when unpacked.')
  const octets = new Uint8Array(bytes)
  const { length, fault } = inflateInto(packed, octets)
  switch (fault) {
    case 'more':
      return notAsStated(`The entry unpacks to more than the ${bytes} octets stated.`)
    case 'rest':
      return notAsStated('The entry is longer when packed than it needs to be.')
    case 'cut-off':
    case 'broken':
      return notAsStated(`The entry cannot be unpacked; ${length} octets of ${bytes} came out.`)
  }
  return length === bytes
    ? octets
    : notAsStated(`The entry unpacks to ${length} octets, and the archive states ${bytes}.`)
}
