import { gzipSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { isZip, recogniseFormat } from '../../shared/image/recognise.ts'

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

  it('records and blocks also where the first is damaged, or an octet is no text at all', () => {
    const line = 'S10C010031323334353637383915\n'
    for (const [text, format] of [
      [line.repeat(4), 's-record'],
      [':0300300002337A1E\n'.repeat(4), 'intel-hex'],
    ]) {
      const damaged = ascii(text)
      damaged[1] = 0
      expect(says(damaged)).toBe(format)
      damaged[0] = 0
      expect(says(damaged)).toBe(format)
    }
    const blocks = new Uint8Array(1024)
    blocks.set(fromHex('55 46 32 0A 57 51 5D 9E'), 512)
    expect(says(blocks)).toBe('uf2')
  })

  it('what people get by mistake', () => {
    expect(says(new Uint8Array(0))).toBe('format.empty')
    expect(says(fromHex('50 4B 03 04 14 00 00 00'))).toBe('format.zip')
    const empty = Uint8Array.of(0x50, 0x4b, 5, 6, ...new Uint8Array(18))
    expect([says(empty), isZip(empty), isZip(empty.subarray(1))]).toEqual(['format.zip', true, false])
    expect(says(new Uint8Array(gzipSync('x')))).toBe('format.gzip')
    expect(says(fromHex('7F 45 4C 46 01 01 01 00'))).toBe('format.elf')
    for (const archive of ['42 5A 68 39', 'FD 37 7A 58 5A 00', '37 7A BC AF 27 1C', '52 61 72 21 1A 07 01'])
      expect(says(fromHex(archive))).toBe('format.archive')
    for (const document of ['25 50 44 46 2D 31', '89 50 4E 47 0D 0A 1A 0A', 'FF D8 FF E0 00 10'])
      expect(says(fromHex(document))).toBe('format.document')
    const program = new Uint8Array(0x100)
    program.set([0x4d, 0x5a])
    expect(says(program)).toBe('raw')
    program[0x3c] = 0x80
    program.set([0x50, 0x45, 0, 0], 0x80)
    expect(says(program)).toBe('format.program')
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
