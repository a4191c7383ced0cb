import { describe, expect, it } from 'vitest'
import { readImageFile, sayImage } from '../../../renderer/new-bench/image-file.ts'
import { writeIntelHex } from '../../../shared/image/write-intel-hex.ts'
import { octetsOf } from './sample-image.ts'

const file = (name: string, octets: Uint8Array) => new File([Uint8Array.from(octets)], name)
const text = (name: string, content: string) => file(name, new TextEncoder().encode(content))
const codeOf = async (...files: File[]) => {
  const read = await readImageFile(files)
  return read.ok ? 'ok' : read.problems[0].code
}

describe('the chosen image file', () => {
  it('is read, recognised and said', async () => {
    const hex = writeIntelHex([{ address: 0x0800_4000, octets: octetsOf(2000) }])
    const read = await readImageFile([text('own.hex', hex)])
    expect(read.ok && read.value.octets).toEqual(new TextEncoder().encode(hex))
    expect(read.ok && sayImage(read.value)).toBe('Intel HEX, 2,000 octets, from 0x08004000 to 0x080047CF.')
    const raw = await readImageFile([file('own.bin', octetsOf(2000))])
    expect(raw.ok && sayImage(raw.value)).toBe(
      'Raw binary, 2,000 octets. It does not say at which address it begins.',
    )
  })

  it('is refused when it is none, with the reason', async () => {
    expect(await codeOf()).toBe('new-bench.file')
    expect(await codeOf(text('a.bin', ''))).toBe('new-bench.file')
    expect(await codeOf(file('a.bin', octetsOf(9)), file('b.bin', octetsOf(9)))).toBe('new-bench.file')
    expect(await codeOf(text('a.txt', 'only words in a letter to a friend, '.repeat(9)))).toBe('format.text')
    expect(await codeOf(text('a.hex', ':10000000FF\n'))).toMatch(/^hex\./)
  })
})
