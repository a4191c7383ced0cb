import { describe, expect, it } from 'vitest'
import { CATALOGUE, crcOf } from '../../shared/dialect/checksums.ts'
import { CAN, XmodemEar } from '../../shared/dialect/xmodem-ear.ts'
import type { EffectResult } from '../../shared/procedure/effects.ts'
import { runScripted } from '../support/scripted.ts'

/** The form of a block: C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, 18 June 1988, figures of sections 7 and 8. */
function block(number: number, data: Uint8Array, crc = true): Uint8Array {
  const check = crcOf(CATALOGUE['CRC-16/XMODEM'])(data)
  const sum = data.reduce((all, octet) => (all + octet) & 0xff, 0)
  const behind = crc ? [check >> 8, check & 0xff] : [sum]
  return Uint8Array.of(data.length === 128 ? 0x01 : 0x02, number, 0xff - number, ...data, ...behind)
}
const data = Uint8Array.from({ length: 128 }, (_, i) => i)

/** What the ear makes of octets that arrive one after another. */
function hears(arriving: Uint8Array, crc = true) {
  let waiting = arriving
  const ear = new XmodemEar({ crc, baud: 115_200 })
  const answer = (effect: Parameters<Parameters<typeof runScripted>[1]>[0]): EffectResult => {
    if (effect.do !== 'receive') throw new Error('it only listens')
    for (let length = 1; length <= waiting.length; length++) {
      const taken = effect.until(waiting.subarray(0, length))
      if (taken === false) continue
      const octets = waiting.subarray(0, taken)
      waiting = waiting.subarray(taken)
      return { got: 'octets', octets }
    }
    waiting = new Uint8Array(0)
    return { got: 'timeout' }
  }
  const { result, effects } = runScripted(ear.next(1000), answer)
  return { ...result, listened: effects.length }
}

describe('what comes from a sender of XMODEM', () => {
  it.each([true, false])('a sound block is its number and its data; CRC: %s', crc => {
    expect(hears(block(7, data, crc), crc)).toMatchObject({ came: 'block', number: 7, data })
    const long = new Uint8Array(1024).fill(9)
    expect(hears(block(200, long, crc), crc)).toMatchObject({ came: 'block', number: 200, data: long })
  })

  it.each([1, 2, 3, 130, 132])('a block that differs in octet %i is damaged, and it listens on', at => {
    const octets = block(7, data)
    octets[at] ^= 0x20
    expect(hears(octets)).toMatchObject({ came: 'damaged', listened: 2 })
  })

  it('an end, a cancel of two, a cancel of one and half a block are told apart from nothing at all', () => {
    expect(hears(Uint8Array.of(0x04)).came).toBe('end')
    expect(hears(Uint8Array.of(CAN, CAN)).came).toBe('cancel')
    expect(hears(Uint8Array.of(CAN, 0x41)).came).toBe('damaged')
    expect(hears(block(7, data).subarray(0, 60)).came).toBe('damaged')
    expect(hears(Uint8Array.of()).came).toBe('nothing')
  })
})
