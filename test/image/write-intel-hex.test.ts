import { describe, expect, it } from 'vitest'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'

describe('writing Intel HEX', () => {
  it('ends a record at each 64 KiB boundary and sets the base anew', () => {
    const text = writeIntelHex([{ address: 0xffff, octets: Uint8Array.of(1, 2) }])
    expect(text.split('\n')).toEqual([
      ':020000040000FA',
      ':01FFFF000100',
      ':020000040001F9',
      ':0100000002FD',
      ':00000001FF',
      '',
    ])
  })

  it('writes start records and the line end asked for', () => {
    const text = writeIntelHex([{ address: 0, octets: Uint8Array.of(9) }], {
      lineEnd: '\r\n',
      startLinear: 0x12345678,
      startSegment: { cs: 0, ip: 0x3800 },
    })
    expect(text.split('\r\n')).toEqual([
      ':020000040000FA',
      ':0100000009F6',
      ':0400000300003800C1',
      ':0400000512345678E3',
      ':00000001FF',
      '',
    ])
  })

  it('refuses addresses out of reach and senseless record lengths', () => {
    const top = { address: 0xf_ffff, octets: Uint8Array.of(1, 2) }
    expect(() => writeIntelHex([top], { addressing: 'segmented' })).toThrow(RangeError)
    expect(() => writeIntelHex([{ ...top, address: 0xffff_ffff }])).toThrow(RangeError)
    expect(() => writeIntelHex([top], { recordOctets: 0 })).toThrow(RangeError)
    expect(() => writeIntelHex([top], { recordOctets: 256 })).toThrow(RangeError)
  })
})
