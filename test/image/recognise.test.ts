import { gzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { recogniseFormat } from '../../shared/image/recognise.ts'

const ascii = (text: string) => new TextEncoder().encode(text)
const says = (octets: Uint8Array) => {
  const result = recogniseFormat(octets, 'anything.dat')
  return result.ok ? result.value : result.problems[0].code
}
const fromHex = (text: string) => Uint8Array.from(text.split(' ').map(p => Number.parseInt(p, 16)))

describe('by content', () => {
  it('Intel HEX, also behind a byte-order mark, blank lines or a damaged first line', () => {
    const hex = ':0300300002337A1E\n:00000001FF\n'
    for (const text of [hex, `\uFEFF${hex}`, `\r\n ${hex}`, `garbled\n${hex}`, hex.toLowerCase()])
      expect(says(ascii(text))).toBe('intel-hex')
  })

  it('UF2 (header from reference values, section 5.3)', () => {
    const block = new Uint8Array(512)
    block.set(
      fromHex(
        '55 46 32 0A 57 51 5D 9E 00 20 00 00 00 40 00 08 00 01 00 00 00 00 00 00 01 00 00 00 72 10 E2 5E',
      ),
    )
    expect(says(block)).toBe('uf2')
  })

  it('S-records (reference values, section 5.2)', () => {
    expect(says(ascii('S00600004844521B\nS10C010031323334353637383915\nS9030000FC\n'))).toBe('s-record')
  })

  it('what people get by mistake', () => {
    expect(says(new Uint8Array(0))).toBe('format.empty')
    expect(says(fromHex('50 4B 03 04 14 00 00 00'))).toBe('format.zip')
    expect(says(new Uint8Array(gzipSync('x')))).toBe('format.gzip')
    expect(says(fromHex('7F 45 4C 46 01 01 01 00'))).toBe('format.elf')
    expect(
      says(
        ascii('<!doctype html>\n<html><head><title>404 Not Found</title></head><body>No.</body></html>\n'),
      ),
    ).toBe('format.text')
  })

  it('everything else is raw', () => {
    for (const octets of [
      Uint8Array.of(0),
      ascii('short text'),
      new Uint8Array(4096).fill(0xff),
      new Uint8Array(4096).fill(0x55),
      new Uint8Array(4096).fill(0x20),
      new Uint8Array(4096).fill(0xa5),
      Uint8Array.from({ length: 256 }, (_, i) => i),
    ])
      expect(says(octets)).toBe('raw')
  })

  it('each refusal says what can be read and what to do', () => {
    const result = recogniseFormat(new Uint8Array(0), 'wren.bin')
    expect(result.ok ? undefined : result.problems[0]).toMatchObject({
      file: 'wren.bin',
      expected: expect.stringContaining('Intel HEX'),
      remedy: expect.any(String),
    })
  })
})
