import { describe, expect, it } from 'vitest'
import { MAX_PAYLOAD_BYTES } from '../../shared/image/intel-hex.ts'
import { readRaw } from '../../shared/image/raw.ts'

const says = (octets: Uint8Array, address: number) => {
  const result = readRaw(octets, 'wren.bin', address)
  return result.ok ? result.value : result.problems[0].code
}

describe('raw binary', () => {
  it('is one segment at the address given', () => {
    expect(says(Uint8Array.of(1, 2), 0x08004000)).toEqual([
      { address: 0x08004000, octets: Uint8Array.of(1, 2) },
    ])
    expect(says(Uint8Array.of(1, 2), 0xffff_fffe)).toHaveLength(1)
  })

  it('is bounded', () => {
    expect(says(new Uint8Array(0), 0)).toBe('raw.empty')
    expect(says(new Uint8Array(MAX_PAYLOAD_BYTES), 0)).toHaveLength(1)
    expect(says(new Uint8Array(MAX_PAYLOAD_BYTES + 1), 0)).toBe('raw.too-large')
    for (const address of [0xffff_ffff, -1, 0.5, Number.NaN])
      expect(says(Uint8Array.of(1, 2), address)).toBe('raw.address')
  })
})
