import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { guessFlash } from '../../../renderer/new-bench/flash-size.ts'

const segment = (address: number, length: number) => ({ address, octets: new Uint8Array(length) })

describe('the size of program flash, guessed from an image', () => {
  it.each([
    ['nothing', [], 0, 64],
    ['a small image', [segment(0, 100)], 0, 64],
    ['exactly 64 KiB', [segment(0, 65_536)], 0, 64],
    ['one octet more', [segment(0, 65_537)], 0, 128],
    ['an image in the middle of a page', [segment(0x0800_4123, 65_536)], 0x0800_4000, 128],
    ['two pieces near each other', [segment(0x1000, 16), segment(0x1000 + 200_000, 16)], 0x1000, 256],
    ['an image at the end of the address space', [segment(0xffff_ff00, 256)], 0xffff_0000, 64],
  ])('%s', (_, segments, programAddress, kib) => {
    expect(guessFlash(segments)).toEqual({ programAddress, programBytes: kib * 1024, outsideBytes: 0 })
  })

  it('leaves out what lies far from the rest, on either side', () => {
    const main = segment(0x0800_0000, 100_000)
    expect(guessFlash([main, segment(0x1000_1000, 16)])).toMatchObject({
      programAddress: 0x0800_0000,
      programBytes: 131_072,
      outsideBytes: 16,
    })
    expect(guessFlash([segment(0, 16), main])).toMatchObject({
      programAddress: 0x0800_0000,
      outsideBytes: 16,
    })
  })

  it('always holds the main piece, in whole pages, and is no larger than it must be', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 2 ** 32 - 2 ** 20 }),
        fc.integer({ min: 1, max: 2 ** 19 }),
        (at, length) => {
          const { programAddress, programBytes, outsideBytes } = guessFlash([segment(at, length)])
          expect(outsideBytes).toBe(0)
          expect(programAddress % 1024).toBe(0)
          expect(programAddress).toBeLessThanOrEqual(at)
          expect(programAddress + programBytes).toBeGreaterThanOrEqual(at + length)
          expect(Number.isInteger(Math.log2(programBytes))).toBe(true)
          expect(programBytes === 65_536 || programBytes / 2 < length + 1024).toBe(true)
        },
      ),
    )
  })
})
