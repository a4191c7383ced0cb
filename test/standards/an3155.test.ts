import { describe, expect, it } from 'vitest'
import {
  addressOctets,
  COMMAND,
  commandOctets,
  EXTENDED_SPECIAL,
  eraseAllOctets,
  extendedEraseSpecialOctets,
  writeDataOctets,
} from '../../shared/procedure/an3155.ts'
import { type BootRomPlan, bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { BootRomHost, type Reply } from '../../shared/procedure/boot-rom-host.ts'
import type { Procedure } from '../../shared/procedure/effects.ts'
import { blankMemory } from '../../shared/sim/memory.ts'
import { chipOnTable, hexOf, octetsOf, scripted, stType, talk } from '../support/boot-rom-rig.ts'
import { lineRig } from '../support/line-rig.ts'

/**
 * ST AN3155, "USART protocol used in the STM32 bootloader", octet for octet: reference values, section 4. Every
 * exchange is held against both sides: what the procedure sends to a scripted peer, and what the virtual chip
 * answers to the same octets.
 */
type Exchange = readonly (readonly [toDevice: string, fromDevice: string])[]

const upTo255 = Uint8Array.from({ length: 256 }, (_, i) => i)
const allFf = new Uint8Array(256).fill(0xff)
const base = ['08 00 00 00 08', '79'] as const

interface Published {
  readonly title: string
  readonly say: (host: BootRomHost) => Procedure<Reply<unknown>>
  readonly exchange: Exchange
  readonly means?: unknown
  readonly erase?: 'erase' | 'extendedErase'
}

const GET = '79 0B 31 00 01 02 11 21 31 44 63 73 82 92 79'
const commands = [0x00, 0x01, 0x02, 0x11, 0x21, 0x31, 0x44, 0x63, 0x73, 0x82, 0x92]
const reading = (count: string, data: Uint8Array): Exchange => [
  ['11 EE', '79'],
  base,
  [count, `79 ${hexOf(data)}`],
]
const writing = (data: string): Exchange => [['31 CE', '79'], base, [data, '79']]

const published: Published[] = [
  { title: 'connect', say: h => h.connect(), exchange: [['7F', '79']] },
  { title: 'Get', say: h => h.get(), exchange: [['00 FF', GET]], means: { version: 0x31, commands } },
  { title: 'Get ID', say: h => h.getId(), exchange: [['02 FD', '79 01 04 10 79']], means: 0x410 },
  {
    title: 'Get Version',
    say: h => h.getVersion(),
    exchange: [['01 FE', '79 31 00 00 79']],
    means: { version: 0x31, options: [0, 0] },
  },
  {
    title: 'Read 256',
    say: h => h.read(0x0800_0000, 256),
    exchange: reading('FF 00', upTo255),
    means: upTo255,
  },
  {
    title: 'Read 16',
    say: h => h.read(0x0800_0000, 16),
    exchange: reading('0F F0', upTo255.slice(0, 16)),
    means: upTo255.slice(0, 16),
  },
  {
    title: 'Read 1',
    say: h => h.read(0x0800_0000, 1),
    exchange: reading('00 FF', upTo255.slice(0, 1)),
    means: Uint8Array.of(0),
  },
  {
    title: 'Write 4',
    say: h => h.write(0x0800_0000, octetsOf('DE AD BE EF')),
    exchange: writing('03 DE AD BE EF 21'),
  },
  {
    title: 'Write 4, other data',
    say: h => h.write(0x0800_0000, Uint8Array.of(1, 2, 3, 4)),
    exchange: writing('03 01 02 03 04 07'),
  },
  {
    title: 'Write 256 x FF',
    say: h => h.write(0x0800_0000, allFf),
    exchange: writing(`FF ${hexOf(allFf)} FF`),
  },
  {
    title: 'Write 00..FF',
    say: h => h.write(0x0800_0000, upTo255),
    exchange: writing(`FF ${hexOf(upTo255)} FF`),
  },
  { title: 'Go', say: h => h.go(0x0800_0000), exchange: [['21 DE', '79'], base] },
  ...(
    [
      ['Erase page 0', [0], '00 00 00'],
      ['Erase 5, 6, 7', [5, 6, 7], '02 05 06 07 06'],
    ] as const
  ).map(
    ([title, pages, octets]): Published => ({
      title,
      say: h => h.erase(COMMAND.erase, pages),
      exchange: [
        ['43 BC', '79'],
        [octets, '79'],
      ],
      erase: 'erase',
    }),
  ),
  ...(
    [
      ['Extended erase 0', [0], '00 00 00 00 00'],
      ['Extended erase 0 to 4', [0, 1, 2, 3, 4], '00 04 00 00 00 01 00 02 00 03 00 04 00'],
      ['Extended erase 255, 256', [255, 256], '00 01 00 FF 01 00 FF'],
    ] as const
  ).map(
    ([title, pages, octets]): Published => ({
      title,
      say: h => h.erase(COMMAND.extendedErase, pages),
      exchange: [
        ['44 BB', '79'],
        [octets, '79'],
      ],
    }),
  ),
]

const timing = bootRomTiming(115_200, stType().flash, 0)

/** The chip of the published answers: identifier 410, loader 3.1. Flash holds 00..FF where the exchanges read. */
function chip(exchange: Published) {
  const memory = blankMemory(stType())
  memory.boot.octets.fill(0xff)
  if (exchange.title.startsWith('Read')) memory.boot.octets.set(upTo255)
  return chipOnTable({ memory, chip: { eraseCommand: COMMAND[exchange.erase ?? 'extendedErase'] } })
}

describe('exchanges', () => {
  it.each(published)('$title: the procedure sends these octets, and understands the answers', entry => {
    const { result, sent } = talk(entry.say(new BootRomHost(timing)), scripted(entry.exchange))
    expect(sent).toEqual(entry.exchange.map(([toDevice]) => toDevice))
    expect(result).toEqual({ got: 'ok', value: entry.means })
  })

  it.each(published)('$title: the virtual chip answers these octets', entry => {
    const { say } = chip(entry)
    if (entry.title !== 'connect') expect(say('7F')).toBe('79')
    for (const [toDevice, fromDevice] of entry.exchange) expect(say(toDevice)).toBe(fromDevice)
  })

  it.each(published.filter(p => p.exchange.length > 1))('$title: NACK 1F at any step ends it', entry => {
    entry.exchange.forEach((_, at) => {
      const upToThere = entry.exchange.slice(0, at + 1)
      const script = upToThere.map(([sent, answer], i) => [sent, i === at ? '1F' : answer] as const)
      const { result } = talk(entry.say(new BootRomHost(timing)), scripted(script))
      expect(result.got).toBe('nack')
    })
  })

  it.each([
    ['Erase all', 'erase', '43 BC', eraseAllOctets(), 'FF 00', 522],
    [
      'Mass erase',
      'extendedErase',
      '44 BB',
      extendedEraseSpecialOctets(EXTENDED_SPECIAL.all),
      'FF FF 00',
      522,
    ],
    ['Bank 1', 'extendedErase', '44 BB', extendedEraseSpecialOctets(EXTENDED_SPECIAL.bank1), 'FF FE 01', 522],
  ] as const)(
    '%s: octets, and what the virtual chip does',
    (_title, erase, command, octets, wanted, pages) => {
      expect(hexOf(octets)).toBe(wanted)
      const { say, flasher } = chipOnTable({ chip: { eraseCommand: COMMAND[erase] } })
      expect([say('7F'), say(command), say(wanted)]).toEqual(['79', '79', '79'])
      expect(flasher.operations).toBe(pages)
    },
  )

  it('Bank 2: octets; a chip of one bank declines, and the reserved codes too', () => {
    expect(hexOf(extendedEraseSpecialOctets(EXTENDED_SPECIAL.bank2))).toBe('FF FD 02')
    for (const special of ['FF FD 02', 'FF FC 03', 'FF F0 0F']) {
      const { say, flasher } = chipOnTable()
      expect([say('7F'), say('44 BB'), say(special), flasher.operations]).toEqual(['79', '79', '1F', 0])
    }
  })
})

describe('octets', () => {
  it.each([
    ['Get', COMMAND.get, '00 FF'],
    ['Get Version and Read Protection', COMMAND.getVersion, '01 FE'],
    ['Get ID', COMMAND.getId, '02 FD'],
    ['Read Memory', COMMAND.readMemory, '11 EE'],
    ['Go', COMMAND.go, '21 DE'],
    ['Write Memory', COMMAND.writeMemory, '31 CE'],
    ['Erase', COMMAND.erase, '43 BC'],
    ['Extended Erase', COMMAND.extendedErase, '44 BB'],
    ['Write Protect', COMMAND.writeProtect, '63 9C'],
    ['Write Unprotect', COMMAND.writeUnprotect, '73 8C'],
    ['Read-out Protect', COMMAND.readOutProtect, '82 7D'],
    ['Read-out Unprotect', COMMAND.readOutUnprotect, '92 6D'],
  ])('of the command %s', (_title, code, wanted) => {
    expect(hexOf(commandOctets(code))).toBe(wanted)
  })

  it.each([
    [0x0800_0000, '08 00 00 00 08'],
    [0x0800_1000, '08 00 10 00 18'],
    [0x0801_fc00, '08 01 FC 00 F5'],
    [0x2000_0200, '20 00 02 00 22'],
    [0x1fff_f7e0, '1F FF F7 E0 F7'],
    [0x1fff_f800, '1F FF F8 00 18'],
  ])('of the address %i, most significant first, with its checksum', (address, wanted) => {
    expect(hexOf(addressOctets(address))).toBe(wanted)
  })

  it('of 256 octets of data: count FF and checksum FF, for all FF and for 00..FF', () => {
    for (const data of [allFf, upTo255]) {
      const octets = writeDataOctets(data)
      expect([octets.length, octets[0], octets[257]]).toEqual([258, 0xff, 0xff])
    }
  })
})

describe('line time of 258 characters, 11 bits each', () => {
  it.each([
    [9600, 295.62],
    [57_600, 49.27],
    [115_200, 24.64],
  ])('at %i baud is %f ms on the simulated line', (baud, ms) => {
    const { line, ear, run } = lineRig({ baud, parity: 'even' })
    const [host, device] = [ear('host', 'radio'), ear('device', 'receiver')]
    line.sendOctets(host.party, writeDataOctets(upTo255))
    run()
    expect(device.octets).toHaveLength(258)
    // The published figures have two digits behind the point.
    expect(Math.abs((device.got.at(-1)?.atNs ?? 0) - ms * 1e6)).toBeLessThanOrEqual(5000)
  })
})

describe('the whole procedure', () => {
  const plan: BootRomPlan = {
    baud: 115_200,
    address: 0x0800_0000,
    octets: octetsOf('DE AD BE EF'),
    pages: [0],
    startAt: 0x0800_0000,
    chipId: 0x410,
    writeMultiple: 4,
    timing,
    connectTries: 3,
    tries: 3,
    attempts: 2,
  }
  const script = (get: string, erase: Exchange): Exchange => [
    ['7F', '79'],
    ['00 FF', get],
    ['02 FD', '79 01 04 10 79'],
    ...erase,
    ...writing('03 DE AD BE EF 21'),
    ['11 EE', '79'],
    base,
    ['03 FC', '79 DE AD BE EF'],
    ['21 DE', '79'],
    base,
  ]
  const extended: Exchange = [
    ['44 BB', '79'],
    ['00 00 00 00 00', '79'],
  ]
  const plain: Exchange = [
    ['43 BC', '79'],
    ['00 00 00', '79'],
  ]

  it.each([
    ['Extended Erase where Get lists 44', script(GET, extended), 0x44],
    ['Erase where Get lists 43', script(GET.replace('44', '43'), plain), 0x43],
  ])('opens 8E1, uses %s, writes, reads back, starts', (_title, exchange, code) => {
    const { result, sent, effects } = talk(writeThroughBootRom(plan), scripted(exchange))
    expect(sent).toEqual(exchange.map(([toDevice]) => toDevice))
    expect(result).toMatchObject({ ended: 'done', chipId: 0x410, started: true, attempts: 1, retries: 0 })
    expect(result.ended === 'done' && result.loader.commands).toContain(code)
    expect(effects.filter(e => e.do === 'line')).toMatchObject([{ baud: 115_200, parity: 'even' }])
  })

  it('is answered octet for octet by the virtual chip', () => {
    const memory = blankMemory(stType())
    const { say, device } = chipOnTable({ memory })
    for (const [toDevice, fromDevice] of script(GET, extended)) expect(say(toDevice)).toBe(fromDevice)
    expect(hexOf(memory.boot.octets.subarray(0, 5))).toBe('DE AD BE EF FF')
    expect(device.startedAt).toBe(0x0800_0000)
  })
})
