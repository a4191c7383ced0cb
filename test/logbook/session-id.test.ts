import { describe, expect, it } from 'vitest'
import { logIdSchema, timeOfId, timeSortedId } from '../../shared/logbook/session-id.ts'

const octets = (hex: string) => Uint8Array.from(hex.match(/../g) ?? [], pair => Number.parseInt(pair, 16))

describe('timeSortedId', () => {
  // RFC 9562, appendix A.6: unix_ts_ms 017F22E279B0, rand_a CC3, rand_b 18C4DC0C0C07398F (62 bits).
  it('gives the example of RFC 9562', () => {
    const id = timeSortedId(0x017f22e279b0, octets('0cc318c4dc0c0c07398f'))
    expect(id).toBe('017f22e2-79b0-7cc3-98c4-dc0c0c07398f')
    expect(logIdSchema.safeParse(id).success).toBe(true)
  })

  it('says when it was made, and nothing of what is no such id', () => {
    for (const ms of [0, 1, 0x017f22e279b0, 2 ** 48 - 1])
      expect(timeOfId(timeSortedId(ms, octets('0cc318c4dc0c0c07398f')))).toBe(ms)
    // RFC 9562, appendix A.3: version 4 has no time in it.
    for (const id of ['', 'run', '919108f7-52d1-4320-9bac-f847db4148a8']) expect(timeOfId(id)).toBeUndefined()
  })

  it('takes nothing of the chance that version and variant have their place in', () => {
    const id = timeSortedId(0, octets('ffffffffffffffffffff'))
    expect(id).toBe('00000000-0000-7fff-bfff-ffffffffffff')
  })

  it('sorts by time, whatever the chance', () => {
    const ids = [1, 2, 255, 256, 65_536, 2 ** 40].map((ms, i) =>
      timeSortedId(ms, new Uint8Array(10).fill(255 - i * 40)),
    )
    expect([...ids].sort()).toEqual(ids)
  })

  it.each([
    [-1, 10],
    [1.5, 10],
    [2 ** 48, 10],
    [0, 9],
    [0, 11],
  ])('takes no time %d with %d octets', (ms, length) => {
    expect(() => timeSortedId(ms, new Uint8Array(length))).toThrow(RangeError)
  })
})
