import { failed, type Result, succeeded } from '../model/problem.ts'
import { MAX_PAYLOAD_BYTES } from './intel-hex.ts'
import { ADDRESS_SPACE, type Segment, sayAddress } from './segments.ts'

/**
 * A raw binary file: the octets as they belong into memory, without any address of their own.
 * @param address where the first octet belongs, 0..0xffffffff
 * @returns one segment that shares the file's octets; or `raw.empty`, `raw.too-large`, `raw.address`
 */
export function readRaw(octets: Uint8Array, fileName: string, address: number): Result<Segment[]> {
  if (octets.length === 0)
    return failed({
      code: 'raw.empty',
      message: 'The file is empty.',
      file: fileName,
      remedy: 'Choose another image file; this one may not have been copied completely.',
    })
  if (octets.length > MAX_PAYLOAD_BYTES)
    return failed({
      code: 'raw.too-large',
      message: `The file is ${octets.length} bytes long, more than any receiver takes.`,
      file: fileName,
      expected: `at most ${MAX_PAYLOAD_BYTES} bytes`,
      remedy: 'Choose the image file itself.',
    })
  if (!Number.isInteger(address) || address < 0 || address + octets.length > ADDRESS_SPACE)
    return failed({
      code: 'raw.address',
      message: 'The image does not fit in memory from the address given.',
      file: fileName,
      expected: `an address from 0 to ${sayAddress(ADDRESS_SPACE - octets.length)}`,
      remedy: 'Correct the address.',
    })
  return succeeded([{ address, octets }])
}
