import { Ajv2020 } from 'ajv/dist/2020.js'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { builtInDialects, demoDialects } from '../../shared/dialect/built-in/all.ts'
import { stAn3155 } from '../../shared/dialect/built-in/st-an3155.ts'
import { xmodem1k, xmodemCrc, ymodem } from '../../shared/dialect/built-in/xmodem.ts'
import { hexOfOctets, octetsOfHex, patternAt, patternOfHex } from '../../shared/dialect/hex.ts'
import { brokenNames, sectionsOf } from '../../shared/dialect/names.ts'
import { failureCodeOf, isProven, RECEIVER_STATES, receiverStateWords } from '../../shared/dialect/plan.ts'
import {
  type DialectInput,
  dialectJsonSchema,
  dialectSchema,
  MOST_DIALECT_CHARACTERS,
  readDialect,
  writeDialect,
} from '../../shared/dialect/schema.ts'
import { MOST_BLOCK_OCTETS } from '../../shared/dialect/schema-parts.ts'
import { MEANINGS } from '../../shared/dialect/schema-steps.ts'

const read = (input: unknown) => readDialect(JSON.stringify(input), 'x.json')
const fieldsOf = (input: unknown) => {
  const result = read(input)
  return result.ok ? [] : result.problems.map(p => p.field)
}

describe('a dialect file', () => {
  it.each([stAn3155, xmodemCrc, xmodem1k, ymodem])('$name comes back as it was written', input => {
    const dialect = dialectSchema.parse(input)
    expect(readDialect(writeDialect(dialect), 'x.json')).toEqual({ ok: true, value: dialect, warnings: [] })
    expect(brokenNames(dialect)).toEqual([])
    expect(sectionsOf(dialect).some(({ steps }) => steps.length > 0)).toBe(true)
  })

  it.each<[string, (d: DialectInput) => object, string]>([
    ['a rate of nothing', d => ({ ...d, line: { baud: [0] } }), 'line.baud[0]'],
    ['a block too long', d => ({ ...d, block: { octets: MOST_BLOCK_OCTETS + 1 } }), 'block.octets'],
    ['no source', d => ({ ...d, source: undefined }), 'source'],
    ['a timing that nothing is', d => ({ ...d, enter: [{ do: 'wait', for: 'nap' }] }), 'enter[0].for'],
    [
      'a reply that nothing is',
      d => ({ ...d, enter: [{ do: 'expect', replies: ['constructor'], within: 5 }] }),
      'enter[0].replies[0]',
    ],
    [
      'odd digits',
      d => ({ ...d, replies: { ...d.replies, ack: { octets: '7', means: 'ok' } } }),
      'replies.ack.octets',
    ],
    ['a field that does not exist', d => ({ ...d, speed: 5 }), '(whole file)'],
    [
      'a CRC that does not fit',
      d => ({
        ...d,
        checks: {
          ...d.checks,
          big: { kind: 'crc', width: 8, poly: '1021', init: '0', refIn: false, refOut: false, xorOut: '0' },
        },
      }),
      'checks.big',
    ],
    [
      'a check over a group that is not there',
      d => ({ ...d, enter: [{ do: 'send', parts: [{ part: 'check', use: 'xor', over: 'head' }] }] }),
      'enter[0].parts[0].over',
    ],
    [
      'a capture that nothing captures',
      d => ({ ...d, enter: [{ do: 'when', of: 'capture:moon', is: 1, steps: [] }] }),
      'enter[0].of',
    ],
    [
      'an answer waited for while leaving',
      d => ({ ...d, leave: [{ do: 'expect', replies: ['ack'], within: 5 }] }),
      'leave[0].do',
    ],
  ])('with %s is refused, and the field is named', (_title, change, field) => {
    expect(fieldsOf(change(stAn3155))).toContain(field)
  })

  it('that is no JSON names the line', () => {
    expect(readDialect('{\n"format":\n', 'x.json')).toMatchObject({
      ok: false,
      problems: [{ code: 'dialect.not-json', file: 'x.json', line: 2 }],
    })
  })

  it.each([
    ['null', 'only null'],
    ['1.5', 'only 1.5'],
    ['"x"', 'only "x"'],
    ['[{}]', 'a list'],
  ])('that holds %s is said to be no object, and what to do', (text, held) => {
    expect(readDialect(text, 'x.json')).toMatchObject({
      ok: false,
      problems: [
        {
          code: 'dialect.not-an-object',
          message: `A dialect file is an object, but this file holds ${held}.`,
          expected: expect.stringContaining('between { and }'),
          remedy: expect.stringMatching(/^Choose another file/),
        },
      ],
    })
  })

  it('that is too large is not even parsed', () => {
    expect(readDialect(' '.repeat(MOST_DIALECT_CHARACTERS + 1), 'x')).toMatchObject({
      ok: false,
      problems: [{ code: 'dialect.too-large' }],
    })
  })

  it('nested without end is refused without falling over', () => {
    const deep = `${'{"do":"request","what":"x","steps":['.repeat(5000)}${']}'.repeat(5000)}`
    const text = JSON.stringify(stAn3155).replace('"enter":[', `"enter":[${deep},`)
    expect(text.length).toBeLessThan(MOST_DIALECT_CHARACTERS)
    expect(readDialect(text, 'x').ok).toBe(false)
  })

  it('whatever it holds, reading it returns', () => {
    fc.assert(
      fc.property(fc.json({ maxDepth: 6 }), text => {
        expect(typeof readDialect(text, 'x').ok).toBe('boolean')
      }),
    )
    fc.assert(
      fc.property(fc.constantFrom(...Object.keys(stAn3155)), fc.jsonValue({ maxDepth: 4 }), (key, value) => {
        expect(typeof read({ ...stAn3155, [key]: value }).ok).toBe('boolean')
      }),
    )
  })
})

// Another reader of JSON Schema, draft 2020-12 (json-schema.org), than the library that wrote it: Ajv.
describe('the published JSON Schema', () => {
  const takes = new Ajv2020({ strict: false }).compile(dialectJsonSchema() as object)
  const known = [...builtInDialects().values(), ...demoDialects().values()]

  it.each(known.map(d => [d.name, d] as const))('takes %s as it is kept in a file', (_, dialect) => {
    expect([takes(JSON.parse(writeDialect(dialect))), takes.errors]).toEqual([true, null])
  })

  it('and the reader of files refuse and take the same, wherever one value is another', () => {
    const values = fc.constantFrom<unknown>(
      null,
      -1,
      0,
      1,
      2.5,
      1e9,
      '',
      'x',
      'zz zz',
      '79',
      [],
      [{}],
      {},
      true,
    )
    let refused = 0
    fc.assert(
      fc.property(fc.constantFrom(...known), fc.nat(), values, (dialect, at, value) => {
        const raw = JSON.parse(writeDialect(dialect))
        const places = placesIn(raw)
        const [holder, key] = places[at % places.length]
        holder[key] = value
        const read = readDialect(JSON.stringify(raw), 'x')
        // Names that name nothing are beyond a schema: only the reader sees them. It trims texts, which neither says.
        if (read.ok) expect([takes(raw), takes.errors, raw]).toEqual([true, null, raw])
        else if (!takes(raw)) refused++
      }),
      { seed: 7, numRuns: 500 },
    )
    expect(refused).toBeGreaterThan(150)
  })
})

type Holder = Record<string, unknown>

/** Every place of a value in it. */
function placesIn(value: unknown): [Holder, string][] {
  if (typeof value !== 'object' || value === null) return []
  const holder = value as Holder
  return Object.keys(holder).flatMap(key => [[holder, key] as [Holder, string], ...placesIn(holder[key])])
}

describe('octets in hexadecimal', () => {
  it('are read with and without spaces', () => {
    expect(octetsOfHex('31 CE')).toEqual(Uint8Array.of(0x31, 0xce))
    expect(octetsOfHex('31ce')).toEqual(Uint8Array.of(0x31, 0xce))
    expect(hexOfOctets([0, 0xce])).toBe('00 CE')
  })

  it('patterns match with gaps, and say when more is needed', () => {
    const pattern = patternOfHex('80 .. 01*')
    expect(pattern.open).toBe(true)
    expect(patternAt(pattern, Uint8Array.of(0x80, 7, 1, 9), 0)).toBe('yes')
    expect(patternAt(pattern, Uint8Array.of(0x80, 7), 0)).toBe('partly')
    expect(patternAt(pattern, Uint8Array.of(0x80, 7, 2), 0)).toBe('no')
    expect(patternOfHex('79').open).toBe(false)
  })
})

describe('ends', () => {
  it('every state has its words', () => {
    for (const state of RECEIVER_STATES) {
      expect(receiverStateWords[state].is.length).toBeGreaterThan(10)
      expect(receiverStateWords[state].next.length).toBeGreaterThan(10)
    }
    expect(MEANINGS).toContain('ok')
  })

  it('only verified and identified is proven', () => {
    const proof = { verified: 'read-back', started: true, identified: true } as const
    const end = {
      ended: 'done',
      code: undefined,
      text: '',
      attempts: 1,
      retries: 0,
      state: 'runs-new',
      proof,
      identity: undefined,
      backup: undefined,
    } as const
    expect(isProven(end)).toBe(true)
    expect(isProven({ ...end, proof: { ...proof, verified: 'none' } })).toBe(false)
    expect(isProven({ ...end, proof: { ...proof, identified: false } })).toBe(false)
    expect(isProven({ ...end, state: 'written-not-proven' })).toBe(false)
    expect(isProven({ ...end, ended: 'failed' })).toBe(false)
  })

  it('codes of its own are told as ones that every list knows', () => {
    expect(failureCodeOf('no-line')).toBe('no-answer')
    expect(failureCodeOf('other-identity')).toBe('refused')
    expect(failureCodeOf('verify-differs')).toBe('verify-differs')
  })
})
