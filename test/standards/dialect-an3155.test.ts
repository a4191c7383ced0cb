import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { readByDialect, writeByDialect } from '../../shared/dialect/interpret.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { hexOf, octetsOf, scripted, talk } from '../support/boot-rom-rig.ts'

/**
 * ST AN3155 as data, octet for octet: the exchanges of the project's reference values, section 4. The script is both
 * what must be sent and what the chip answers; anything else that is sent ends the test.
 */
const dialect = builtInDialects().get('st-an3155') as Dialect

const CONNECT = ['7F', '79'] as const
const get = (erase: '43' | '44') => ['00 FF', `79 0B 31 00 01 02 11 21 31 ${erase} 63 73 82 92 79`] as const
const GET_ID = ['02 FD', '79 01 04 10 79'] as const
const BASE = ['08 00 00 00 08', '79'] as const
const writing = (said: string) => [['31 CE', '79'], BASE, [said, '79']] as const
const reading = (count: string, data: string) => [['11 EE', '79'], BASE, [count, `79 ${data}`]] as const
const GO = [['21 DE', '79'], BASE] as const
const upTo255 = Uint8Array.from({ length: 256 }, (_, i) => i)

const planOf = (octets: Uint8Array, pages: readonly number[]): DialectPlan => ({
  dialect,
  baud: 115_200,
  image: { octets, address: 0x0800_0000, fileName: 'x' },
  pages,
  expectBefore: { chip: '0x410' },
  expectAfter: {},
})

describe('a whole session says what is published, and nothing else', () => {
  const extended = [['44 BB', '79']] as const
  const plain = [['43 BC', '79']] as const
  it.each([
    [
      'Extended Erase 0',
      'DE AD BE EF',
      '44',
      [0],
      [...extended, ['00 00 00 00 00', '79']],
      '03 DE AD BE EF 21',
      '03 FC',
    ],
    [
      'Extended Erase 0 to 4',
      '01 02 03 04',
      '44',
      [0, 1, 2, 3, 4],
      [...extended, ['00 04 00 00 00 01 00 02 00 03 00 04 00', '79']],
      '03 01 02 03 04 07',
      '03 FC',
    ],
    [
      'Extended Erase 255, 256',
      '01 02 03 04',
      '44',
      [255, 256],
      [...extended, ['00 01 00 FF 01 00 FF', '79']],
      '03 01 02 03 04 07',
      '03 FC',
    ],
    ['Erase 0', 'DE AD BE EF', '43', [0], [...plain, ['00 00 00', '79']], '03 DE AD BE EF 21', '03 FC'],
    [
      'Erase 5, 6, 7',
      '01 02 03 04',
      '43',
      [5, 6, 7],
      [...plain, ['02 05 06 07 06', '79']],
      '03 01 02 03 04 07',
      '03 FC',
    ],
    [
      'Write and read 00..FF',
      hexOf(upTo255),
      '43',
      [0],
      [...plain, ['00 00 00', '79']],
      `FF ${hexOf(upTo255)} FF`,
      'FF 00',
    ],
  ] as const)('%s', (_title, octets, erase, pages, erasing, written, count) => {
    const script = [
      CONNECT,
      get(erase),
      GET_ID,
      ...erasing,
      ...writing(written),
      ...reading(count, octets),
      ...GO,
    ] as unknown as [string, string][]
    const { result, sent } = talk(writeByDialect(planOf(octetsOf(octets), pages)), scripted(script))
    expect(sent).toEqual(script.map(([said]) => said))
    expect(result).toMatchObject({
      ended: 'done',
      retries: 0,
      state: 'written-not-proven',
      proof: { verified: 'read-back', started: true, identified: false },
      identity: [
        { name: 'chip', value: '0410' },
        { name: 'loader', value: '31' },
      ],
    })
  })

  it.each([
    ['Read 16', 16, '0F F0'],
    ['Read 1', 1, '00 FF'],
    ['Read 256', 256, 'FF 00'],
  ] as const)('%s', (_title, count, said) => {
    const data = upTo255.slice(0, count)
    const script = [CONNECT, get('44'), GET_ID, ...reading(said, hexOf(data))] as unknown as [
      string,
      string,
    ][]
    const plan = { dialect, baud: 115_200, address: 0x0800_0000, octets: count }
    const { result, sent } = talk(readByDialect(plan), scripted(script))
    expect(sent).toEqual(script.map(([octets]) => octets))
    expect(result).toMatchObject({ ended: 'done', octets: data })
  })

  it.each([
    ['08 00 10 00', '18'],
    ['08 01 FC 00', 'F5'],
    ['20 00 02 00', '22'],
    ['1F FF F7 E0', 'F7'],
    ['1F FF F8 00', '18'],
  ])('address %s has the checksum %s', (address, check) => {
    const at = Number.parseInt(address.replaceAll(' ', ''), 16)
    const script = [
      CONNECT,
      get('44'),
      GET_ID,
      ['11 EE', '79'],
      [`${address} ${check}`, '79'],
      ['00 FF', '79 00'],
    ]
    const plan = { dialect, baud: 115_200, address: at, octets: 1 }
    const { result } = talk(readByDialect(plan), scripted(script as [string, string][]))
    expect(result.ended).toBe('done')
  })

  it('the line is 8 data bits, even parity, 1 stop bit', () => {
    const { effects } = talk(writeByDialect(planOf(upTo255, [0])), () => '')
    expect(effects.find(e => e.do === 'line')).toMatchObject({ baud: 115_200, parity: 'even', stopBits: 1 })
  })
})
