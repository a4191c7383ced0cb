import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readSRecords } from '../../shared/image/s-record.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'

const octets = new TextEncoder().encode('123456789')

describe('writing S-records', () => {
  it('takes the shortest address that does, and the end record that goes with it', () => {
    const lines = (address: number) => writeSRecords([{ address, octets }]).split('\n')
    expect(lines(0x100).map(l => l.slice(0, 2))).toEqual(['S0', 'S1', 'S5', 'S9', ''])
    expect(lines(0x12340).map(l => l.slice(0, 2))).toEqual(['S0', 'S2', 'S5', 'S8', ''])
    expect(lines(0x08000000).map(l => l.slice(0, 2))).toEqual(['S0', 'S3', 'S5', 'S7', ''])
  })

  it('counts more than 65,535 records with S6', () => {
    const many = writeSRecords([{ address: 0, octets: new Uint8Array(65_536) }], { recordOctets: 1 })
    expect(many).toContain('\nS604010000FA\n')
    expect(readSRecords(many, 'x')).toMatchObject({ ok: true, warnings: [] })
  })

  it('reads back what it wrote', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 1, maxLength: 600 }),
        fc.nat(0xffff_0000),
        fc.integer({ min: 1, max: 250 }),
        fc.boolean(),
        (content, address, recordOctets, count) => {
          const text = writeSRecords([{ address, octets: content }], { recordOctets, count, header: 'wren' })
          const result = readSRecords(text, 'x')
          expect(result).toMatchObject({ ok: true, value: { header: 'wren' }, warnings: [] })
          expect(result.ok && result.value.segments).toEqual([{ address, octets: content }])
        },
      ),
    )
  })

  it('refuses what does not fit', () => {
    const at = (address: number) => [{ address, octets }]
    expect(() => writeSRecords(at(0xfffe), { addressBits: 16 })).toThrow(RangeError)
    expect(() => writeSRecords(at(0xffff_ffff))).toThrow(RangeError)
    expect(() => writeSRecords(at(-1))).toThrow(RangeError)
    expect(() => writeSRecords(at(0), { recordOctets: 251 })).toThrow(RangeError)
    expect(() => writeSRecords(at(0), { recordOctets: 0 })).toThrow(RangeError)
    expect(() => writeSRecords(at(0), { header: 'ü' })).toThrow(RangeError)
    expect(() => writeSRecords(at(0), { startAddress: 2 ** 32 })).toThrow(RangeError)
  })
})
