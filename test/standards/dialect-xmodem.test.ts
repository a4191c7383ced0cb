import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { hexOf, talk } from '../support/boot-rom-rig.ts'

/**
 * XMODEM and YMODEM as data, octet for octet: C. Forsberg (ed.), XMODEM/YMODEM Protocol Reference, 18 June 1988, and
 * the worked blocks of the project's reference values, section 3 (computed with binascii, seen on the wire with lrzsz).
 */
const dialectOf = (name: string) => builtInDialects().get(name) as Dialect
const worked = Uint8Array.from({ length: 300 }, (_, i) => (7 * i + 3) & 0xff)

const planOf = (name: string, octets: Uint8Array, fileName = 'image.bin'): DialectPlan => ({
  dialect: dialectOf(name),
  baud: 115_200,
  image: { octets, address: 0, fileName },
  pages: [],
  expectBefore: {},
  expectAfter: {},
  attempts: 1,
})

/** Has its start said once before anything is sent, then answers by what was sent. */
function receiver(start: string, answer: (sent: string) => string) {
  return { before: start, answer }
}

/** `talk`, but the peer speaks first. */
function send(name: string, octets: Uint8Array, peer: ReturnType<typeof receiver>, fileName?: string) {
  const procedure = writeByDialect(planOf(name, octets, fileName))
  const sent: string[] = []
  let waiting = Uint8Array.from(hexBytes(peer.before))
  let input: Parameters<typeof procedure.next>[0] = { got: 'done' }
  for (let i = 0; i < 100_000; i++) {
    const step = procedure.next(input)
    if (step.done) return { result: step.value, sent }
    const effect = step.value
    input = { got: 'done' }
    if (effect.do === 'send') {
      sent.push(hexOf(effect.octets))
      waiting = Uint8Array.of(...waiting, ...hexBytes(peer.answer(hexOf(effect.octets))))
    } else if (effect.do === 'receive') {
      const taken = waiting.length > 0 && effect.until(waiting)
      input = taken === false ? { got: 'timeout' } : { got: 'octets', octets: waiting.slice(0, taken) }
      if (taken !== false) waiting = waiting.slice(taken)
    }
  }
  throw new Error('it does not end')
}
const hexBytes = (hex: string) => (hex === '' ? [] : hex.split(' ').map(pair => Number.parseInt(pair, 16)))

describe('XMODEM', () => {
  it.each([
    ['CRC', '43', ['2E E4', '95 06', 'BA A7']],
    ['checksum', '15', ['C0', 'C0', 'EA']],
  ] as const)('the three worked blocks with %s', (_title, start, checks) => {
    const { result, sent } = send(
      'xmodem-crc',
      worked,
      receiver(start, () => '06'),
    )
    const padded = new Uint8Array(384).fill(0x1a)
    padded.set(worked)
    expect(sent).toEqual([
      ...['01 FE', '02 FD', '03 FC'].map(
        (number, i) => `01 ${number} ${hexOf(padded.slice(128 * i, 128 * (i + 1)))} ${checks[i]}`,
      ),
      '04',
    ])
    expect(result).toMatchObject({ ended: 'done', state: 'written-not-proven', retries: 0 })
  })

  it('numbers go from FF to 00 (section 7.2)', () => {
    const { sent } = send(
      'xmodem-crc',
      new Uint8Array(128 * 257),
      receiver('43', () => '06'),
    )
    expect(sent[254].slice(0, 8)).toBe('01 FF 00')
    expect(sent[255].slice(0, 8)).toBe('01 00 FF')
    expect(sent[256].slice(0, 8)).toBe('01 01 FE')
  })

  it('NAK to the first EOT is ordinary, and so is none', () => {
    let ends = 0
    const nakFirst = receiver('43', sent => (sent === '04' && ends++ === 0 ? '15' : '06'))
    const { result, sent } = send('xmodem-crc', worked, nakFirst)
    expect(sent.slice(-2)).toEqual(['04', '04'])
    expect(result).toMatchObject({ ended: 'done', retries: 0 })
  })

  it('a block is sent again after NAK, and the session stops at two CAN, not at one', () => {
    let blocks = 0
    const nakSecond = receiver('43', sent => (sent !== '04' && ++blocks === 2 ? '15' : '06'))
    const again = send('xmodem-crc', worked, nakSecond)
    expect(again.result).toMatchObject({ ended: 'done', retries: 1 })
    expect(again.sent[1]).toBe(again.sent[2])
    const oneCan = send(
      'xmodem-crc',
      worked,
      receiver('43', () => '18 06'),
    )
    expect(oneCan.result.ended).toBe('done')
    const twoCan = send(
      'xmodem-crc',
      worked,
      receiver('43', () => '18 18'),
    )
    expect(twoCan.result).toMatchObject({ ended: 'failed', code: 'broken-off', state: 'partly-written' })
    expect(twoCan.sent).toHaveLength(1)
  })

  it('broken off, it sends at least two CAN (section 4.1)', () => {
    const procedure = writeByDialect(planOf('xmodem-crc', worked))
    procedure.next()
    let hasSent = false
    while (true) {
      const step = procedure.next({ got: 'octets', octets: Uint8Array.of(0x43) })
      if (step.done) throw new Error('it ended before a block was sent')
      if (step.value.do === 'send') hasSent = true
      if (step.value.do !== 'receive') continue
      step.value.until(Uint8Array.of(0x43))
      // To a receiver to whom nothing was said there is nothing to break off.
      if (hasSent) break
    }
    let step = procedure.return(undefined as never)
    // What is in hand is answered first.
    expect(!step.done && step.value.do).toBe('wait')
    step = procedure.next({ got: 'done' })
    expect(step.done).toBe(false)
    expect(!step.done && step.value.do === 'send' && hexOf(step.value.octets)).toMatch(/^18 18/)
  })
})

describe('XMODEM-1K', () => {
  it('sends a rest of 300 octets as three blocks of 128, and one of 952 as one of 1024, as lrzsz does', () => {
    const small = send(
      'xmodem-1k',
      worked,
      receiver('43', () => '06'),
    ).sent
    expect(small.map(octets => octets.slice(0, 8))).toEqual(['01 01 FE', '01 02 FD', '01 03 FC', '04'])
    const large = send(
      'xmodem-1k',
      new Uint8Array(3000),
      receiver('43', () => '06'),
    ).sent
    expect(large.map(octets => octets.slice(0, 8))).toEqual(['02 01 FE', '02 02 FD', '02 03 FC', '04'])
    expect(hexBytes(large[0])).toHaveLength(1029)
  })

  it('a block of 1024 x FF has the CRC C084 (reference values, section 1)', () => {
    const { sent } = send(
      'xmodem-1k',
      new Uint8Array(1024).fill(0xff),
      receiver('43', () => '06'),
    )
    expect(sent[0].slice(-5)).toBe('C0 84')
  })
})

describe('YMODEM', () => {
  const peer = () => {
    let ends = 0
    return receiver('43', sent => {
      if (sent === '04') return ends++ === 0 ? '15' : '06 43'
      return sent.startsWith('01 00 FF') && ends === 0 ? '06 43' : '06'
    })
  }

  it('block 0 has name, NUL, length; then blocks from 1; a closing block 0 that is empty, CRC 0000', () => {
    const { result, sent } = send('ymodem', worked, peer(), 'bbcsched.txt')
    const name = hexOf(new TextEncoder().encode('bbcsched.txt\u0000300'))
    expect(sent[0].startsWith(`01 00 FF ${name} 00 00`)).toBe(true)
    expect(hexBytes(sent[0])).toHaveLength(133)
    expect(sent.slice(1, -1).map(octets => octets.slice(0, 8))).toEqual([
      '01 01 FE',
      '01 02 FD',
      '01 03 FC',
      '04',
      '04',
    ])
    expect(sent.at(-1)).toBe(`01 00 FF ${Array(128).fill('00').join(' ')} 00 00`)
    expect(result.ended).toBe('done')
  })

  it('the published block 0 (figure 6) has the CRC CA56', () => {
    // Figure 6 has more fields than the length, so its text is given as the file name here; the framing is the dialect's.
    const text = 'bbcsched.txt\u00006347 3314742513 100644'
    const header = dialectOf('ymodem').write.before.flatMap(step =>
      step.do === 'request' ? step.steps : [],
    )[0]
    expect(header.do).toBe('send')
    const figure: Dialect = {
      ...dialectOf('ymodem'),
      write: {
        ...dialectOf('ymodem').write,
        before: [
          {
            do: 'send',
            bare: false,
            parts: [
              { part: 'octets', hex: '01 00 FF' },
              {
                part: 'group',
                name: 'header',
                parts: [{ part: 'octets', hex: hexOf(new TextEncoder().encode(text)) }],
                fillTo: 128,
                fillWith: 0,
              },
              { part: 'check', use: 'crc', over: 'header' },
            ],
          },
        ],
      },
    }
    const { sent } = talk(writeByDialect({ ...planOf('ymodem', worked), dialect: figure }), () => '06')
    expect(sent[0].slice(-5)).toBe('CA 56')
  })
})
