import { constants } from 'node:fs'
import type { FileHandle } from 'node:fs/promises'

/**
 * Reading past the page cache. Linux gives O_DIRECT for that, which wants whole blocks into memory that begins on a
 * block boundary. Node's buffers begin anywhere; the memory of a WebAssembly instance begins on a page.
 */

/** A multiple of every block size in use: sectors have 512 or 4096 octets. */
const BLOCK_BYTES = 4096
const MOST_BYTES = 64 * 1024

export const DIRECT_FLAGS: number | undefined =
  process.platform === 'linux' && typeof constants.O_DIRECT === 'number'
    ? constants.O_RDONLY | constants.O_DIRECT
    : undefined

/**
 * File systems that are known to take O_DIRECT to the device, by their numbers in Linux' magic.h. On others, memory
 * file systems, network shares and those in user space among them, the flag may be taken and nothing come of it.
 */
const TO_THE_DEVICE = new Set([
  0x4d44, // FAT
  0x2011bab0, // exFAT
  0xef53, // ext2, ext3, ext4
  0x58465342, // XFS
  0x9123683e, // btrfs
  0xf2f52010, // F2FS
])

/** @param fileSystemType `type` of statfs */
export const readsDevice = (fileSystemType: number): boolean =>
  DIRECT_FLAGS !== undefined && TO_THE_DEVICE.has(fileSystemType)

export class DirectReader {
  private readonly memory = new Uint8Array(new WebAssembly.Memory({ initial: 2 }).buffer)

  /**
   * @param file opened with DIRECT_FLAGS
   * @param bytes at most 64 KiB less one block
   * @returns what the file has there, shorter only at its end
   * @throws the file system's error; EINVAL where it does not read directly after all
   */
  async read(file: FileHandle, offset: number, bytes: number): Promise<Uint8Array> {
    const from = Math.floor(offset / BLOCK_BYTES) * BLOCK_BYTES
    const to = Math.ceil((offset + bytes) / BLOCK_BYTES) * BLOCK_BYTES
    if (to - from > MOST_BYTES) throw new RangeError(`at most ${MOST_BYTES} octets at once`)
    let got = 0
    while (got < to - from) {
      const { bytesRead } = await file.read(this.memory, got, to - from - got, from + got)
      got += bytesRead
      // A read that ends inside a block has met the end of the file.
      if (bytesRead === 0 || got % BLOCK_BYTES !== 0) break
    }
    const end = Math.min(got, offset - from + bytes)
    return this.memory.slice(offset - from, Math.max(offset - from, end))
  }
}
