import { crc32, deflateRawSync } from 'node:zlib'

/** A file for makeZip; what is given beside name and content is written instead of the truth. */
export interface ZipPart {
  readonly name: string
  readonly content: Uint8Array | string
  readonly stored?: boolean
  readonly bytes?: number
  readonly packedBytes?: number
  readonly crc?: number
  readonly method?: number
  readonly flags?: number
  readonly localName?: string
  readonly packed?: Uint8Array
}

/** Writes ZIP archives after APPNOTE 4.3, honest ones and others, packed by Node's zlib. */
export function makeZip(
  parts: readonly ZipPart[],
  end: { count?: number; offset?: number } = {},
): Uint8Array {
  const bodies: Buffer[] = []
  const directory: Buffer[] = []
  let at = 0
  for (const part of parts) {
    const content = Buffer.from(part.content)
    const packed = Buffer.from(part.packed ?? (part.stored ? content : deflateRawSync(content)))
    const fields = Buffer.alloc(26)
    fields.writeUInt16LE(20, 0)
    fields.writeUInt16LE(part.flags ?? 0x0800, 2)
    fields.writeUInt16LE(part.method ?? (part.stored ? 0 : 8), 4)
    fields.writeUInt32LE(part.crc ?? crc32(content), 10)
    fields.writeUInt32LE(part.packedBytes ?? packed.length, 14)
    fields.writeUInt32LE(part.bytes ?? content.length, 18)
    const name = Buffer.from(part.name)
    const localName = Buffer.from(part.localName ?? part.name)
    const local = Buffer.concat([Buffer.from('PK\x03\x04', 'latin1'), fields, localName, packed])
    local.writeUInt16LE(localName.length, 26)
    fields.writeUInt16LE(name.length, 22)
    const place = Buffer.alloc(14)
    place.writeUInt32LE(at, 10)
    directory.push(Buffer.from('PK\x01\x02\x14\x00', 'latin1'), fields, place, name)
    bodies.push(local)
    at += local.length
  }
  const list = Buffer.concat(directory)
  const tail = Buffer.alloc(22)
  tail.write('PK\x05\x06', 'latin1')
  tail.writeUInt16LE(end.count ?? parts.length, 8)
  tail.writeUInt16LE(end.count ?? parts.length, 10)
  tail.writeUInt32LE(list.length, 12)
  tail.writeUInt32LE(end.offset ?? at, 16)
  return new Uint8Array(Buffer.concat([...bodies, list, tail]))
}
