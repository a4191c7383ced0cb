import { execFileSync } from 'node:child_process'
import { closeSync, constants, openSync, readSync, writeSync } from 'node:fs'

/**
 * The least that a sender of XMODEM-1K in Node.js can do: blocks that were made beforehand go out one behind the
 * other, each when the system's own read has given the answer to the one before. It repeats nothing, notes nothing and
 * holds up its whole program while it waits, so nobody could write with it; but nothing in Node.js is faster.
 */

const SOH_1K = 2
const EOT = 4
const ACK = 6
const ASKS = 0x43
const BLOCK = 1024
/** CRC-16/XMODEM: https://reveng.sourceforge.io/crc-catalogue/16.htm */
const POLY = 0x1021

const TABLE = Uint16Array.from({ length: 256 }, (_, octet) => {
  let crc = octet << 8
  for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ POLY) & 0xffff : (crc << 1) & 0xffff
  return crc
})

/** @param octets a whole number of blocks */
export function bareBlocks(octets: Uint8Array): Uint8Array[] {
  return Array.from({ length: octets.length / BLOCK }, (_, i) => {
    const data = octets.subarray(i * BLOCK, (i + 1) * BLOCK)
    const number = (i + 1) & 0xff
    let crc = 0
    for (const octet of data) crc = ((crc << 8) & 0xffff) ^ TABLE[(crc >> 8) ^ octet]
    return Uint8Array.of(SOH_1K, number, 255 - number, ...data, crc >> 8, crc & 0xff)
  })
}

/** @throws Error where a block is not acknowledged at once */
export function bareSender(path: string, blocks: readonly Uint8Array[]): void {
  // A read that nobody answers ends after a tenth of a second.
  execFileSync('stty', ['-F', path, 'raw', '-echo', 'min', '0', 'time', '1'])
  const line = openSync(path, constants.O_RDWR | constants.O_NOCTTY)
  const into = new Uint8Array(16)
  const hear = (): number => {
    for (;;) {
      const count = readSync(line, into, 0, into.length, null)
      if (count > 0) return into[count - 1]
    }
  }
  const mustHear = (octet: number) => {
    const heard = hear()
    if (heard !== octet) throw new Error(`heard ${heard} in place of ${octet}`)
  }
  try {
    mustHear(ASKS)
    for (const block of blocks) {
      writeSync(line, block)
      mustHear(ACK)
    }
    writeSync(line, Uint8Array.of(EOT))
    mustHear(ACK)
  } finally {
    closeSync(line)
  }
}
