import { describe, expect, it } from 'vitest'
import { bitsPerCharacter, lineMs, placeText, readPlace, settingsText } from '../../main/serial/port.ts'

describe('a place that somebody types', () => {
  it.each([
    ['/dev/ttyUSB0', { kind: 'local', path: '/dev/ttyUSB0' }],
    [' COM3 ', { kind: 'local', path: 'COM3' }],
    ['bench.local:2217', { kind: 'rfc2217', host: 'bench.local', port: 2217 }],
    ['rfc2217://127.0.0.1:4000', { kind: 'rfc2217', host: '127.0.0.1', port: 4000 }],
    ['[::1]:4000', { kind: 'rfc2217', host: '::1', port: 4000 }],
  ])('%s is read', (typed, place) => {
    const read = readPlace(typed)
    expect(read).toMatchObject({ ok: true, value: place })
    if (read.ok) expect(readPlace(placeText(read.value))).toMatchObject({ value: place })
  })

  it.each(['', 'ttyUSB0', 'host', 'host:0', 'host:65536', 'a b:1', 'host:12:13', '-x:1'])(
    '%s is not',
    typed => {
      const read = readPlace(typed)
      expect(read.ok).toBe(false)
      if (!read.ok) expect(read.problems[0]).toMatchObject({ code: 'port.place', field: 'port' })
    },
  )
})

describe('a character on the line', () => {
  // Start bit, data bits, parity bit, stop bits: how an asynchronous character is made up (RFC 1662 leaves it to the
  // line; common practice).
  it('has 10 bits as 8N1, 11 as 8E1, 12 as 8E2', () => {
    expect(bitsPerCharacter({ baud: 9600, parity: 'none', stopBits: 1 })).toBe(10)
    expect(bitsPerCharacter({ baud: 9600, parity: 'even', stopBits: 1 })).toBe(11)
    expect(bitsPerCharacter({ baud: 9600, parity: 'odd', stopBits: 2 })).toBe(12)
  })
  it('takes its time', () => {
    expect(lineMs(1029, { baud: 115_200, parity: 'none', stopBits: 1 })).toBeCloseTo(89.32, 2)
    expect(settingsText({ baud: 115_200, parity: 'even', stopBits: 1 })).toBe('115200 8E1')
  })
})
