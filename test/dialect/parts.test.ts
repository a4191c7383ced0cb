import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Answer } from '../../shared/dialect/answer.ts'
import { blockCountOf, blockOctets, cutAt } from '../../shared/dialect/blocks.ts'
import { builtInDialects, demoDialects } from '../../shared/dialect/built-in/all.ts'
import { checkOf } from '../../shared/dialect/checksums.ts'
import { Context, meantBy, numberOf, putNumber, saidAs } from '../../shared/dialect/context.ts'
import { encoderOf, mostOctets } from '../../shared/dialect/encode.ts'
import { framerOf } from '../../shared/dialect/frames.ts'
import {
  firstOther,
  identityFrom,
  runsProgram,
  sameValue,
  shownAfter,
  versionSaid,
} from '../../shared/dialect/identity.ts'
import { sectionsOf } from '../../shared/dialect/names.ts'
import type { Dialect, FrameSpec } from '../../shared/dialect/schema.ts'
import type { SendPart } from '../../shared/dialect/schema-parts.ts'
import type { ExpectStep, Step } from '../../shared/dialect/schema-steps.ts'
import { encodeFrame, maxEncodedLength } from '../../shared/wire/hdlc.ts'
import { hexOf, octetsOf } from '../support/boot-rom-rig.ts'

const dialects = [...builtInDialects().values(), ...demoDialects().values()]
const checks = new Map([
  ['xor', checkOf({ kind: 'xor', init: 0, complement: false })],
  ['ibm3740', checkOf({ kind: 'named', name: 'CRC-16/IBM-3740', order: 'big' })],
  ['crc32', checkOf({ kind: 'named', name: 'CRC-32/ISO-HDLC', order: 'little' })],
])
const number = (of: string, size: number, more: object = {}): SendPart =>
  ({ part: 'number', of, size, order: 'big', plus: 0, unit: 1, complement: false, ...more }) as SendPart

describe('numbers', () => {
  it('go into octets and come back', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 4 }),
        fc.nat(0xffff_ffff),
        fc.constantFrom('big', 'little'),
        (size, value, order) => {
          const out = new Uint8Array(size)
          putNumber(out, 0, value, size, order as 'big')
          expect(numberOf(out, order as 'big')).toBe(value % 256 ** size)
        },
      ),
    )
  })

  it('are said with units, additions and complements, and meant back', () => {
    fc.assert(
      fc.property(
        fc.nat(200),
        fc.constantFrom(1, 2, 4),
        fc.integer({ min: -1, max: 1 }),
        fc.boolean(),
        (n, unit, plus, complement) => {
          const part = { size: 2, plus, unit, complement }
          fc.pre(n + plus >= 0)
          expect(meantBy(saidAs(n * unit, part), part)).toBe(n * unit)
        },
      ),
    )
    expect(saidAs(256, { size: 1, plus: -1, unit: 1, complement: false })).toBe(0xff)
    expect(saidAs(1, { size: 1, plus: 0, unit: 1, complement: true })).toBe(0xfe)
  })
})

describe('a send', () => {
  const context = () => {
    const c = new Context(octetsOf('31 32 33 34 35 36 37 38 39'), '/home/me/My image.bin')
    Object.assign(c, {
      address: 0x0800_0000,
      block: 257,
      data: octetsOf('DE AD'),
      length: 2,
      pages: [5, 6, 7],
    })
    return c
  }

  it('is made of its parts, in their order', () => {
    const encode = encoderOf(
      [
        { part: 'octets', hex: 'A5' },
        number('address', 4),
        number('block', 1, { complement: true }),
        number('length', 2, { plus: -1, order: 'little' }),
        { part: 'data' },
        { part: 'pages', size: 2, order: 'little' },
        { part: 'check', use: 'xor', over: 'all' },
      ],
      checks,
      16,
    )
    expect(hexOf(encode(context()))).toBe('A5 08 00 00 00 FE 01 00 DE AD 05 00 06 00 07 00 25')
  })

  it('has text, fills groups and checks them alone; CBF43926 over the nine characters', () => {
    const group: SendPart = {
      part: 'group',
      name: 'g',
      parts: [
        { part: 'text', of: 'fileName' },
        { part: 'octets', hex: '00' },
        { part: 'text', of: 'imageLength' },
      ],
      fillTo: 16,
      fillWith: 0x2e,
    }
    const encode = encoderOf(
      [{ part: 'octets', hex: '01' }, group, number('imageCheck', 4, { check: 'crc32' })],
      checks,
      16,
    )
    expect(new TextDecoder().decode(encode(context()).subarray(1, 17))).toBe('My image.bin\u00009..')
    expect(hexOf(encode(context()).subarray(17))).toBe('CB F4 39 26')
    const checked = encoderOf([group, { part: 'check', use: 'xor', over: 'g' }], checks, 16)(context())
    expect(checked.reduce((sum, octet) => sum ^ octet, 0)).toBe(0)
  })

  it('never needs more room than was reckoned', () => {
    for (const dialect of dialects)
      for (const { steps } of sectionsOf(dialect))
        for (const step of sendsIn(steps)) {
          const c = new Context(new Uint8Array(99_999_999 % 4096), 'n'.repeat(300))
          Object.assign(c, { data: new Uint8Array(dialect.block.octets), pages: Array(255).fill(1) })
          const all = new Map(Object.entries(dialect.checks).map(([name, spec]) => [name, checkOf(spec)]))
          const made = encoderOf(step.parts, all, dialect.block.octets)(c)
          expect(made.length).toBeLessThanOrEqual(mostOctets(step.parts, dialect.block.octets))
        }
  })
})

function sendsIn(steps: readonly Step[]): Extract<Step, { do: 'send' }>[] {
  return steps.flatMap(step => {
    if (step.do === 'send') return [step]
    if (step.do === 'when') return [...sendsIn(step.steps), ...sendsIn(step.otherwise)]
    return step.do === 'request' || step.do === 'repeat' ? sendsIn(step.steps) : []
  })
}
function expectsIn(steps: readonly Step[]): ExpectStep[] {
  return steps.flatMap(step => {
    if (step.do === 'expect') return [step]
    if (step.do === 'when') return [...expectsIn(step.steps), ...expectsIn(step.otherwise)]
    return step.do === 'request' || step.do === 'repeat' ? expectsIn(step.steps) : []
  })
}

describe('frames', () => {
  const spec: FrameSpec = {
    kind: 'start-length',
    start: 'A5 5A',
    length: { size: 2, order: 'little', plus: 2 },
    check: { use: 'ibm3740', over: 'length-and-body' },
    mostBody: 64,
  }
  it.each<FrameSpec>([{ kind: 'rfc1662' }, spec])(
    '$kind: what is wrapped is found, among rubbish too',
    frame => {
      const framer = framerOf(frame, checks, 64)
      fc.assert(
        fc.property(
          fc.uint8Array({ minLength: 2, maxLength: 64 }),
          fc.uint8Array({ maxLength: 8 }),
          (body, before) => {
            const wrapped = framer.wrap(body)
            let found: Uint8Array | undefined
            const take = (b: Uint8Array) => {
              found = b
              return hexOf(b) === hexOf(body)
            }
            expect(framer.find(Uint8Array.of(...before, ...wrapped), take)).toBe(
              before.length + wrapped.length,
            )
            expect(found).toEqual(body)
            expect(framer.find(wrapped.subarray(0, -1), () => true)).toBe(false)
          },
        ),
      )
    },
  )

  it('rfc1662 is what the tested encoder makes, and FCS-16 of the worked frame (reference values 2.1)', () => {
    const body = octetsOf('FF 03 C0 21 01 01 00 04')
    const out = new Uint8Array(maxEncodedLength(body.length))
    const made = out.slice(0, encodeFrame(body, body.length, out, 0))
    expect(framerOf({ kind: 'rfc1662' }, checks, 64).wrap(body)).toEqual(made)
    expect(hexOf(made)).toBe('7E FF 03 C0 21 01 01 00 04 D1 B5 7E')
  })

  it('start-length: start, length with what is added, body, CRC 29B1 over the nine characters', () => {
    const plain: FrameSpec = {
      ...spec,
      start: 'A5',
      length: { size: 1, order: 'big', plus: 0 },
      check: { use: 'ibm3740', over: 'body' },
    }
    const nine = octetsOf('31 32 33 34 35 36 37 38 39')
    expect(hexOf(framerOf(plain, checks, 64).wrap(nine))).toBe(`A5 09 ${hexOf(nine)} 29 B1`)
  })
})

describe('blocks', () => {
  it('cover the image once, in order, and are filled up to the multiple', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...dialects),
        fc.integer({ min: 1, max: 9000 }),
        fc.constantFrom(1, 2, 8),
        (dialect, bytes, word) => {
          const image = Uint8Array.from({ length: bytes }, (_, i) => i & 0xff)
          let count = 0
          const all: number[] = []
          for (let offset = 0; offset < bytes; count++) {
            const cut = cutAt(dialect, bytes, offset, word)
            const octets = blockOctets(image, offset, cut, dialect.block.pad)
            expect(octets.length).toBe(cut.padded)
            expect(cut.padded % dialect.block.multiple).toBe(0)
            expect(octets.subarray(cut.real).every(octet => octet === dialect.block.pad)).toBe(true)
            all.push(...octets.subarray(0, cut.real))
            offset += cut.real
          }
          expect(all).toEqual([...image])
          expect(count).toBe(blockCountOf(dialect, bytes))
        },
      ),
      { numRuns: 50 },
    )
  })
})

describe('answers', () => {
  it('whatever arrives, every expectation of every dialect returns a count or goes on waiting', () => {
    const all = dialects.flatMap(dialect =>
      sectionsOf(dialect).flatMap(({ steps }) => expectsIn(steps).map(step => ({ dialect, step }))),
    )
    expect(all.length).toBeGreaterThan(20)
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.uint8Array({ maxLength: 300 }), ({ dialect, step }, octets) => {
        const known = new Map(Object.entries(dialect.checks).map(([name, spec]) => [name, checkOf(spec)]))
        const framer = dialect.frame && framerOf(dialect.frame, known, 1500)
        const answer = new Answer(step, dialect, known, framer, Object.assign(new Context(), { length: 8 }))
        answer.begin()
        for (let n = 1; n <= octets.length; n += 7) {
          const taken = answer.until(octets.subarray(0, n))
          if (taken === false) continue
          expect(taken).toBeGreaterThan(0)
          expect(taken).toBeLessThanOrEqual(n)
          return
        }
      }),
      { numRuns: 2000 },
    )
  })

  const an3155 = builtInDialects().get('st-an3155') as Dialect
  const expectStep = (change: Partial<ExpectStep>): ExpectStep => ({
    ...{ do: 'expect', replies: [], parts: [], within: 5, as: {}, skipOthers: false, bare: false },
    ...change,
  })
  const look = (step: ExpectStep, hex: string, c = new Context()) => {
    const answer = new Answer(step, an3155, new Map(), undefined, c)
    answer.begin()
    return { taken: answer.until(octetsOf(hex)), answer, c }
  }

  it('captures by a length that an answer states, and no further', () => {
    const get = an3155.identify?.steps.flatMap(s =>
      s.do === 'request' ? expectsIn(s.steps) : [],
    )[1] as ExpectStep
    const { taken, c } = look(get, '02 31 00 01 79 99')
    expect(taken).toBe(5)
    expect(c.captures.get('commands')?.octets).toEqual(octetsOf('00 01'))
    expect(look(get, '02 31 00 01').taken).toBe(false)
    const wrong = look(get, '02 31 00 01 78')
    expect(wrong.answer.wrong).toBe(true)
    expect(wrong.c.captures.size).toBe(0)
  })

  it('passes over others only where it may', () => {
    expect(look(expectStep({ replies: ['ack'], skipOthers: true }), '00 79').taken).toBe(2)
    expect(look(expectStep({ replies: ['ack'] }), '00 79').answer.wrong).toBe(true)
  })
})

describe('identities', () => {
  const dart = demoDialects().get('tamsin-dart') as Dialect
  it('are shown as the dialect says, and compared as people write them', () => {
    const c = new Context()
    c.captures.set('type', { value: 0x0d47, octets: octetsOf('0D 47') })
    c.captures.set('version', { value: 0, octets: octetsOf('02 01 00') })
    c.captures.set('loading', { value: 0, octets: octetsOf('00') })
    const identity = identityFrom(dart, c)
    expect(identity.map(f => f.value)).toEqual(['0D47', '2.1.0', '0'])
    expect(runsProgram(dart, identity)).toBe(true)
    expect(firstOther(identity, { type: '0xd47', version: '2.1.0' })).toBeUndefined()
    expect(firstOther(identity, { version: '2.2.0' })).toEqual({
      label: 'Firmware',
      is: '2.1.0',
      wanted: '2.2.0',
    })
    expect(firstOther([], { type: '1' })).toMatchObject({ is: 'nothing' })
    expect(sameValue('0x0410', '410')).toBe(true)
    expect(sameValue('1', '2')).toBe(false)
  })

  it('show a version after the start as far as they can say it', () => {
    const said = (value: string) => [
      { name: 'version', label: 'Firmware', value, role: 'version' as const },
      { name: 'type', label: 'Type', value: '0D47', role: 'type' as const },
    ]
    const seen = (value: string, version: string) => shownAfter(dart, said(value), { version, type: '0xd47' })
    expect(seen('2.1.0', '2.1.0')).toEqual({})
    expect(seen('2.1.0', '2.1.1')).toEqual({ other: { label: 'Firmware', is: '2.1.0', wanted: '2.1.1' } })
    expect(seen('2.1.0', '2.1.0-rc1').why).toContain('cannot show that it runs 2.1.0-rc1')
    expect(shownAfter(dart, said('2.1.0'), { type: '1' }).other?.label).toBe('Type')
    expect(shownAfter(dart, [], { version: '2.1.0' }).other?.is).toBe('nothing')
    const inText = structuredClone(dart)
    for (const field of inText.identify?.fields ?? []) field.show = 'text'
    expect(versionSaid(inText, said('2.1.0-rc1')[0], '2.1.0-rc1')).toEqual({ is: 'shown' })
    expect(versionSaid(inText, said('2.1.0')[0], '2.1.0-rc1')).toEqual({ is: 'other' })
  })
})
