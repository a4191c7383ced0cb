import { describe, expect, it } from 'vitest'
import { readUf2 } from '../../shared/image/uf2.ts'
import { isUf2Block, readUf2Block, UF2_FLAGS, UF2_MAGIC, UF2_TAGS } from '../../shared/image/uf2-block.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'

/** UF2 against the README of the Microsoft UF2 specification: layout, flags, and its example of extension tags. */
const fromHex = (text: string) => Uint8Array.from(text.trim().split(/\s+/), p => Number.parseInt(p, 16))

/** A block put together by hand from the table "File format": 256 octets to 0x08004000, family 0x5EE21072. */
function blockByHand(): Uint8Array {
  const block = new Uint8Array(512).fill(0xff)
  block.set(fromHex('55 46 32 0A'), 0) // first magic number, "UF2\n"
  block.set(fromHex('57 51 5D 9E'), 4) // second magic number
  block.set(fromHex('00 20 00 00'), 8) // flags: family id present
  block.set(fromHex('00 40 00 08'), 12) // address
  block.set(fromHex('00 01 00 00'), 16) // octets of data
  block.set(fromHex('00 00 00 00'), 20) // number of this block
  block.set(fromHex('01 00 00 00'), 24) // number of blocks
  block.set(fromHex('72 10 E2 5E'), 28) // family
  for (let i = 0; i < 256; i++) block[32 + i] = (7 * i + 3) & 0xff
  block.set(fromHex('30 6F B1 0A'), 508) // final magic number
  return block
}
const data = Uint8Array.from({ length: 256 }, (_, i) => (7 * i + 3) & 0xff)

describe('the block', () => {
  it('is written octet for octet', () => {
    expect(writeUf2([{ address: 0x08004000, octets: data }], { familyId: 0x5ee21072 })).toEqual(blockByHand())
  })

  it('is read', () => {
    expect(readUf2(blockByHand(), 'x')).toEqual({
      ok: true,
      value: {
        segments: [{ address: 0x08004000, octets: data }],
        familyId: 0x5ee21072,
        families: [0x5ee21072],
        blocks: 1,
        comments: 0,
      },
      warnings: [],
    })
  })

  it('has the magic numbers and flags of the specification', () => {
    expect(UF2_MAGIC).toEqual([0x0a324655, 0x9e5d5157, 0x0ab16f30])
    expect(UF2_FLAGS).toEqual({
      notMainFlash: 0x00000001,
      fileContainer: 0x00001000,
      familyId: 0x00002000,
      md5: 0x00004000,
      tags: 0x00008000,
    })
  })

  it('field 28 is the file size where the flag for the family is not set', () => {
    const block = blockByHand()
    block[9] = 0
    const result = readUf2(block, 'x')
    expect(result.ok && result.value.familyId).toBeUndefined()
  })
})

describe('the example of extension tags', () => {
  const example = fromHex(`
    09 bc c7 9f 30 2e 31 2e 32 00 00 00
    14 9d 0d 65 41 43 4d 45 20 54 6f 61 73 74 65 72 20 6d 6b 33
    ff ff ff ff`)
  const block = blockByHand()
  block[9] |= 0x80
  block.set(example, 32 + 256)

  it('gives the version and the device', () => {
    const read = readUf2Block(block, 0)
    expect(isUf2Block(read) && read.tags.map(t => [t.type, new TextDecoder().decode(t.octets)])).toEqual([
      [UF2_TAGS.version, '0.1.2'],
      [UF2_TAGS.device, 'ACME Toaster mk3'],
    ])
    const image = readUf2(block, 'x')
    expect(image.ok && image.value).toMatchObject({ version: '0.1.2', device: 'ACME Toaster mk3' })
  })

  it('is written octet for octet', () => {
    const text = (t: string) => new TextEncoder().encode(t)
    const tags = [
      { type: UF2_TAGS.version, octets: text('0.1.2') },
      { type: UF2_TAGS.device, octets: text('ACME Toaster mk3') },
    ]
    expect(writeUf2([{ address: 0x08004000, octets: data }], { familyId: 0x5ee21072, tags })).toEqual(block)
  })

  it('also ends with a tag of size 0 and type 0, as older files have it', () => {
    const older = block.slice()
    older.fill(0, 32 + 256 + 32, 508)
    const image = readUf2(older, 'x')
    expect(image.ok && image.value).toMatchObject({ version: '0.1.2', device: 'ACME Toaster mk3' })
  })
})
