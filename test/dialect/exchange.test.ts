import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { builtInDialects, demoDialects } from '../../shared/dialect/built-in/all.ts'
import { checkOf } from '../../shared/dialect/checksums.ts'
import { DialectDevice } from '../../shared/dialect/device.ts'
import { answerOf } from '../../shared/dialect/device-answer.ts'
import { Flow } from '../../shared/dialect/device-flow.ts'
import { complaintOf, nextBare } from '../../shared/dialect/device-hearing.ts'
import { DeviceMemory } from '../../shared/dialect/device-memory.ts'
import { programOf } from '../../shared/dialect/device-program.ts'
import { otherIdentity, Voice } from '../../shared/dialect/device-voice.ts'
import { DeviceWork } from '../../shared/dialect/device-work.ts'
import { testDialect } from '../../shared/dialect/exchange.ts'
import { readExchange } from '../../shared/dialect/exchange-text.ts'
import { framerOf } from '../../shared/dialect/frames.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import { matchSend, NOTHING_BOUND } from '../../shared/dialect/match.ts'
import { same, verifyWritten } from '../../shared/dialect/prove.ts'
import { DialectRun } from '../../shared/dialect/run.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import type { ExpectStep } from '../../shared/dialect/schema-steps.ts'
import { hexOf, octetsOf, talk } from '../support/boot-rom-rig.ts'
import { imageOf, planOf } from '../support/dialect-rig.ts'
import { playWith } from '../support/with-device.ts'

const dialects = [...builtInDialects().values(), ...demoDialects().values()]
const an3155 = builtInDialects().get('st-an3155') as Dialect
const reportOf = (dialect: Dialect, text: string) => {
  const result = testDialect(dialect, text)
  if (!result.ok) throw new Error(result.problems[0].message)
  return result.value
}

/** The published exchanges of ST AN3155: the project's reference values, section 4. */
const PUBLISHED = `
→ 7F                       ← 79
→ 00 FF                    ← 79 0B 31 00 01 02 11 21 31 44 63 73 82 92 79   # Get
→ 02 FD                    ← 79 01 04 10 79                                 # Get ID
> 31 CE                    < 79
> 08 00 00 00 08           < 79
> 03 DE AD BE EF 21        < 79
-> 11 EE                   <- 79
-> 08 00 00 00 08          <- 79
-> 0F F0                   <- 79 00 01 02 03 04 05 06 07
   08 09 0A 0B 0C 0D 0E 0F
→ 44 BB ← 79 → 00 04 00 00 00 01 00 02 00 03 00 04 00 ← 79
→ 21 DE ← 79
→ 08 00 00 00 08 ← 79
`

describe('an exchange as text', () => {
  it('is read with every kind of arrow, remarks, and lines that go on', () => {
    const read = readExchange(PUBLISHED)
    expect(read.ok && read.value).toHaveLength(26)
    expect(read.ok && read.value[0]).toEqual({ to: 'receiver', octets: octetsOf('7F'), line: 2 })
    expect(read.ok && read.value[17]).toMatchObject({ to: 'workbench', line: 10, octets: { length: 17 } })
  })

  it.each([
    ['→ 7', 'exchange.line', 1],
    ['→ 7F\n← xy', 'exchange.line', 2],
    ['→', 'exchange.line', 1],
    ['79', 'exchange.line', 1],
    ['# nothing', 'exchange.empty', undefined],
  ])('%j is refused and the line named', (text, code, line) => {
    expect(readExchange(text, 'x.txt')).toMatchObject({ ok: false, problems: [{ code, file: 'x.txt' }] })
    const read = readExchange(text)
    expect(!read.ok && read.problems[0].line).toBe(line)
  })

  it('whatever is typed, it is read or refused', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 200 }), text => {
        expect(typeof testDialect(an3155, text).ok).toBe('boolean')
      }),
    )
    const signs = fc.constantFrom('→', '←', '<', '>', '7F ', '79', ' 00', '\n', '#', 'FF', '1F')
    fc.assert(
      fc.property(fc.array(signs, { maxLength: 60 }), fc.constantFrom(...dialects), (parts, dialect) => {
        expect(typeof testDialect(dialect, parts.join('')).ok).toBe('boolean')
      }),
    )
  })
})

describe('against the published exchanges', () => {
  it('AN3155 agrees, and each step is named', () => {
    const report = reportOf(an3155, PUBLISHED)
    expect(report.difference).toBeUndefined()
    expect(report.agrees).toBe(true)
    const sent = report.recognised.filter(r => r.to === 'receiver')
    expect(sent.map(r => r.what)).toEqual([
      ...['first octet', 'Get', 'Get ID', 'Write Memory', 'Write Memory', 'Write Memory'],
      ...['Read Memory', 'Read Memory', 'Read Memory', 'Extended Erase', 'Extended Erase', 'Go', 'Go'],
    ])
    expect(sent[4]).toMatchObject({ step: 'write.block[0].steps[2]', values: { address: 0x0800_0000 } })
    expect(sent[5].values).toMatchObject({ length: 4 })
  })

  it('XMODEM: the worked blocks', () => {
    const worked = Uint8Array.from({ length: 256 }, (_, i) => (7 * i + 3) & 0xff)
    const block = (head: string, from: number, crc: string) =>
      `→ ${head} ${hexOf(worked.slice(from, from + 128))} ${crc} ← 06`
    const text = [
      '← 43',
      block('01 01 FE', 0, '2E E4'),
      block('01 02 FD', 128, '95 06'),
      '→ 04 ← 15',
      '→ 04 ← 06',
    ]
    expect(reportOf(builtInDialects().get('xmodem-crc') as Dialect, text.join('\n'))).toMatchObject({
      agrees: true,
    })
  })
})

describe('the first difference', () => {
  it.each([
    [
      'a wrong checksum',
      '→ 31 CE ← 79\n→ 08 00 00 00 09 ← 79',
      { line: 2, at: 4, is: '09', wanted: '08', what: 'Write Memory' },
    ],
    ['a wrong complement', '→ 31 CF', { line: 1, at: 1, is: 'CF', wanted: 'CE', what: 'Write Memory' }],
    [
      'data that was damaged',
      '→ 31 CE ← 79 → 08 00 00 00 08 ← 79 → 03 DE AD BE EF 20',
      { at: 5, is: '20', wanted: '21' },
    ],
    ['a message that ends too early', '→ 31 CE ← 79 → 08 00 00', { at: 3, is: 'nothing' }],
    ['an answer that is none', '→ 7F ← 79 → 00 FF ← 55', { to: 'workbench', at: 0, is: '55', what: 'Get' }],
    ['an answer nobody asked for', '← 79', { to: 'workbench', at: 0, is: '79' }],
    ['a wrong end of an answer', '→ 02 FD ← 79 01 04 10 78', { at: 4, is: '78', what: 'Get ID' }],
  ] as const)('%s', (_title, text, difference) => {
    const report = reportOf(an3155, text)
    expect(report.difference).toMatchObject(difference)
    expect(report.difference?.text).toMatch(/^Line \d+: /)
    expect(report.agrees).toBe(false)
  })

  it('in a frame: the block of a framed dialect that says another address than it should', () => {
    const dart = demoDialects().get('tamsin-dart') as Dialect
    const device = new DialectDevice({
      dialect: dart,
      memory: new DeviceMemory({ octets: 4096, base: 0x0800_2000 }),
    })
    const { sent } = playWith(writeByDialect(planOf(dart, imageOf(100), { pages: [0] })), device)
    const write = sent.find(octets => octets[2] === 0x20) as Uint8Array
    expect(reportOf(dart, `→ ${hexOf(write)}`)).toMatchObject({
      agrees: true,
      recognised: [{ what: 'write' }],
    })
    const damaged = write.slice()
    damaged[4] ^= 1
    expect(reportOf(dart, `→ ${hexOf(damaged)}`).agrees).toBe(false)
  })
})

describe('what a session says agrees with the dialect that said it', () => {
  it.each(dialects.map(d => d.name))('%s', name => {
    const dialect = dialects.find(d => d.name === name) as Dialect
    const device = new DialectDevice({
      dialect,
      memory: new DeviceMemory({ octets: 8192, base: 0x0800_2000 }),
    })
    const lines: string[] = []
    const heard = device.hear.bind(device)
    const answered = device.answer.bind(device)
    device.hear = (octets, atNs) => {
      lines.push(`→ ${hexOf(octets)}`)
      heard(octets, atNs)
    }
    device.answer = nowNs => {
      const octets = answered(nowNs)
      if (octets) lines.push(`← ${hexOf(octets)}`)
      return octets
    }
    const { result } = playWith(writeByDialect(planOf(dialect, imageOf(3000), { pages: [0, 1, 2] })), device)
    expect(result.ended).toBe('done')
    const report = reportOf(dialect, lines.join('\n'))
    expect(report.difference).toBeUndefined()
    expect(report.recognised.length).toBeGreaterThanOrEqual(lines.length)
  })
})

describe('the mirror', () => {
  it('has a unit for each request, and a way for each outcome', () => {
    const program = programOf(an3155)
    expect(program.get('identify')).toHaveLength(2)
    expect(program.get('erase')?.[0]).toHaveLength(2)
    expect(programOf(builtInDialects().get('xmodem-1k') as Dialect).get('block')?.[0]).toHaveLength(4)
  })

  it('says what means yes, and the nearest thing to no', () => {
    const step: ExpectStep = {
      ...{ do: 'expect', replies: ['ack', 'nack'], parts: [], within: 5, as: {} },
      ...{ skipOthers: false, bare: false },
    }
    const tools = { dialect: an3155, prefers: [] } as unknown as Parameters<typeof answerOf>[2]
    expect(answerOf(step, 'ok', tools)).toEqual(octetsOf('79'))
    expect(answerOf(step, 'refused', tools)).toEqual(octetsOf('1F'))
  })

  it('binds numbers where they come first, and wants them the same after that', () => {
    const parts = [
      { part: 'number', of: 'block', size: 1, order: 'big', plus: 0, unit: 1, complement: false },
      { part: 'number', of: 'block', size: 1, order: 'big', plus: 0, unit: 1, complement: true },
    ] as const
    const tools = { checks: new Map(), captured: () => undefined, usualLength: 0 }
    const yes = matchSend(parts, octetsOf('05 FA'), 0, false, NOTHING_BOUND, tools)
    expect(yes.is === 'yes' && yes.bound.numbers.get('block')).toBe(5)
    expect(matchSend(parts, octetsOf('05 FB'), 0, false, NOTHING_BOUND, tools)).toMatchObject({
      is: 'no',
      at: 1,
      wanted: octetsOf('FA'),
    })
    expect(matchSend(parts, octetsOf('05'), 0, false, NOTHING_BOUND, tools)).toMatchObject({ is: 'partly' })
  })

  it('erases, writes only into what is there, and takes a block once', () => {
    const xmodem = builtInDialects().get('xmodem-crc') as Dialect
    const memory = new DeviceMemory({ octets: 256, held: new Uint8Array(256) })
    const work = new DeviceWork(
      xmodem,
      memory,
      new Map(),
      { eraseNsPerPage: 1, programNsPerOctet: 1 },
      undefined,
    )
    const block = (n: number) => ({
      ...NOTHING_BOUND,
      numbers: new Map([['block', n]]),
      blockSize: 1,
      data: new Uint8Array(128).fill(n),
    })
    expect(work.do('block', block(1))).toMatchObject({ means: 'ok', workNs: 128 })
    expect(work.do('block', block(1))).toMatchObject({ means: 'ok', again: true })
    expect(work.do('block', block(3))).toMatchObject({ means: 'stop' })
    expect(work.do('block', block(2))).toMatchObject({ means: 'ok' })
    expect(work.do('block', block(3))).toMatchObject({ means: 'refused' })
    expect(memory.octets[0]).toBe(1)
    expect(memory.octets[255]).toBe(2)
    expect(memory.erasePage(9)).toBe(false)
  })

  it('stands outside until it has been entered', () => {
    const flow = new Flow(an3155, () => undefined)
    expect(flow.candidates().map(c => c.section)).toEqual(['enter'])
    expect(flow.canBeCalled).toBe(true)
    flow.take(flow.candidates()[0])
    flow.commit()
    expect(flow.candidates().map(c => c.section)).toContain('read')
  })
})

describe('hearing and voice', () => {
  const { flow, hearing } = (() => {
    const none = () => undefined
    const flow = new Flow(an3155, none, true)
    const checks = new Map(Object.entries(an3155.checks).map(([name, spec]) => [name, checkOf(spec)]))
    return {
      flow,
      hearing: { dialect: an3155, checks, framer: undefined, captured: none, bound: NOTHING_BOUND },
    }
  })()

  it('finds the message, waits for its rest, and knows what is none', () => {
    const candidates = flow.candidates()
    const found = nextBare(candidates, octetsOf('31 CE 08'), hearing)
    expect(found).toMatchObject({ end: 2, candidate: { section: 'block' } })
    expect(nextBare(candidates, octetsOf('31'), hearing)).toBe('more')
    expect(nextBare(candidates, octetsOf('55'), hearing)).toBe('none')
    expect(complaintOf(candidates)?.step.replies).toContain('nack')
  })

  it('says again what is said unasked, until it was heard', () => {
    const xmodem = builtInDialects().get('xmodem-crc') as Dialect
    const tools = { dialect: xmodem, prefers: [] } as unknown as ReturnType<
      ConstructorParameters<typeof Voice>[2]
    >
    const voice = new Voice(xmodem, undefined, () => tools)
    voice.sayAll(new Flow(xmodem, () => undefined).speaksFirst(), 0)
    expect(voice.next(0)).toEqual(octetsOf('43'))
    expect(voice.dueNs()).toBe(3e9)
    expect(voice.next(3e9)).toEqual(octetsOf('43'))
    expect(voice.captured('start')).toBe(0x43)
    voice.wasHeard()
    expect(voice.dueNs()).toBeUndefined()
  })

  it('another identity is one bit off the usual one', () => {
    expect(otherIdentity(an3155, {}).chip).toEqual(octetsOf('04 11'))
  })

  it('a check that differs, and a value that is not shown, prove nothing', () => {
    const dart = demoDialects().get('tamsin-dart') as Dialect
    const run = new DialectRun({ dialect: dart, baud: 57_600, image: octetsOf('01 02 03 04') })
    const framer = framerOf(dart.frame!, run.speaker.checks, 100)
    const talkTo = (answer: string) => talk(verifyWritten(run), () => hexOf(framer.wrap(octetsOf(answer))))
    // B63CFBCD is the CRC-32 of 01 02 03 04 (zlib).
    expect(talkTo('B0 B6 3C FB CD').result).toBe('digest')
    expect(() => talkTo('B0 B6 3C FB CE')).toThrow(/not what was sent/)
    expect(same(octetsOf('01'), octetsOf('01 02'))).toBe(false)
  })
})
