import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { dice } from '../../shared/sim/dice.ts'
import { tornErase, tornProgram } from '../../shared/sim/flash.ts'
import { blankMemory, bootLoaderWhole, install, recordsOf, startable } from '../../shared/sim/memory.ts'
import { decodeRecord, encodeRecord, type ImageRecord, RECORD_BYTES } from '../../shared/sim/record.ts'
import { crc32 } from '../../shared/wire/checksum.ts'

const u32 = fc.nat(0xffff_ffff)
const u16 = fc.nat(0xffff)
const records: fc.Arbitrary<ImageRecord> = fc.record({
  count: u32,
  length: u32,
  crc32: u32,
  typeCode: u32,
  version: fc.record({ major: u16, minor: u16, patch: u16 }),
  sequenceNumber: u32,
  generation: u16,
})

describe('an image record', () => {
  it('comes back as it was written', () =>
    fc.assert(
      fc.property(records, record => {
        expect(decodeRecord(encodeRecord(record))).toEqual(record)
      }),
    ))

  it('is none with any one bit of it inverted, cut short, or erased', () => {
    const record = fc.sample(records, 1)[0]
    for (let bit = 0; bit < RECORD_BYTES * 8; bit++) {
      const octets = encodeRecord(record)
      octets[bit >> 3] ^= 1 << (bit & 7)
      expect(decodeRecord(octets)).toBeUndefined()
    }
    expect(decodeRecord(encodeRecord(record).subarray(0, RECORD_BYTES - 1))).toBeUndefined()
    expect(decodeRecord(new Uint8Array(RECORD_BYTES).fill(0xff))).toBeUndefined()
  })
})

const type = demoBench().catalogue.receiverTypes[0]
const payload = Uint8Array.from({ length: 3000 }, (_, i) => (i * 11) & 0xff)
const about = { typeCode: 1, version: { major: 1, minor: 2, patch: 3 }, sequenceNumber: 5, generation: 3 }

function twoRecords() {
  const memory = blankMemory(type)
  install(memory, payload, about)
  const newer = encodeRecord({ ...about, count: 2, length: payload.length, crc32: crc32(payload) })
  memory.record.octets.set(newer, memory.record.pageBytes)
  return memory
}

describe('the two record pages', () => {
  it('give the newer one first, and start what it names', () => {
    const memory = twoRecords()
    expect(recordsOf(memory).map(r => r.record.count)).toEqual([2, 1])
    expect(startable(memory)?.count).toBe(2)
  })

  it('never lose both: tearing either page, erasing or writing, leaves the other', () => {
    for (let seed = 0; seed < 50; seed++)
      for (const page of [0, 1]) {
        const memory = twoRecords()
        const d = dice(seed, 'tear')
        tornErase(memory.record, page, d.next(), d)
        expect(startable(memory)).toBeDefined()
        memory.record.octets.fill(0xff, page * memory.record.pageBytes, (page + 1) * memory.record.pageBytes)
        const record = encodeRecord({ ...about, count: 3, length: payload.length, crc32: crc32(payload) })
        tornProgram(memory.record, page * memory.record.pageBytes, record, 2, d.next(), d)
        expect(startable(memory)).toBeDefined()
      }
  })

  it('start nothing whose image is not what a record states', () => {
    const memory = twoRecords()
    memory.program.octets[100] ^= 1
    expect(startable(memory)).toBeUndefined()
    memory.program.octets[100] ^= 1
    memory.program.octets[payload.length] ^= 1
    expect(startable(memory)).toBeDefined()
  })

  it('start nothing on blank flash, and nothing longer than program flash', () => {
    const memory = blankMemory(type)
    expect(startable(memory)).toBeUndefined()
    memory.record.octets.set(encodeRecord({ ...about, count: 1, length: 1 << 30, crc32: 0 }))
    expect(startable(memory)).toBeUndefined()
  })
})

describe('the boot loader', () => {
  it('is whole as shipped, and not with one bit of it gone', () => {
    const memory = blankMemory(type)
    expect(bootLoaderWhole(memory)).toBe(true)
    memory.boot.octets[1234] ^= 4
    expect(bootLoaderWhole(memory)).toBe(false)
  })
})
