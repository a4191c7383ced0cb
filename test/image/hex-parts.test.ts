import { describe, expect, it } from 'vitest'
import { emptyRecord, readHexLine } from '../../shared/image/hex-line.ts'
import { assembleRecords, beyondAddressSpace, DataRecords } from '../../shared/image/hex-records.ts'

describe('one line', () => {
  it('fills the record', () => {
    const record = emptyRecord()
    const text = new TextEncoder().encode('xx:0300300002337A1Eyy')
    expect(readHexLine(text, 2, text.length - 2, record)).toBeUndefined()
    expect(record).toMatchObject({ count: 3, offset: 0x30, type: 0 })
    expect(record.data.subarray(0, 3)).toEqual(Uint8Array.of(2, 0x33, 0x7a))
  })

  it('counts characters from the colon', () => {
    const text = new TextEncoder().encode(':0300300002337A1?')
    expect(readHexLine(text, 0, text.length, emptyRecord())).toMatchObject({
      code: 'hex.character',
      message: expect.stringContaining('Character 17 of the line, "?"'),
    })
  })
})

describe('many records', () => {
  it('outgrow their first room and keep their order', () => {
    const records = new DataRecords()
    for (let n = 0; n < 5000; n++) records.add(n * 20, Uint8Array.of(n, n >> 8, 7), 0, 3, n + 1)
    // A gap after each: 5000 pieces are too many, 3000 are not.
    expect(assembleRecords(records, 'x').errors.map(e => e.code)).toEqual(['hex.scattered'])
    const fewer = new DataRecords()
    for (let n = 2999; n >= 0; n--) fewer.add(n * 20, Uint8Array.of(n, n >> 8), 0, 2, 1)
    const { segments, errors } = assembleRecords(fewer, 'x')
    expect(errors).toEqual([])
    expect(segments).toHaveLength(3000)
    expect(segments[2999]).toEqual({ address: 2999 * 20, octets: Uint8Array.of(2999 & 0xff, 2999 >> 8) })
  })

  it('know the top of the address space', () => {
    expect(beyondAddressSpace(0xffff_fffe, 2)).toBe(false)
    expect(beyondAddressSpace(0xffff_ffff, 2)).toBe(true)
  })
})
