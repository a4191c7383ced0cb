import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeEnvelope, encodeEnvelope } from '../../shared/api/envelope.ts'
import { importedSchema } from '../../shared/api/library.ts'
import { readImageCard } from '../../shared/image/image-card.ts'
import { readIntelHex } from '../../shared/image/intel-hex.ts'
import { checkBench, readBench, writeBench } from '../../shared/model/bench.ts'
import type { Problem, Result } from '../../shared/model/problem.ts'
import { problemSchema } from '../../shared/model/problem-schema.ts'
import { rehearse } from '../../shared/rehearse/rehearse.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const LONGEST = { message: 10_000, file: 4_096, field: 4_096, expected: 10_000, remedy: 10_000 } as const
const FIELDS = Object.keys(LONGEST) as (keyof typeof LONGEST)[]
const plain = { noNullPrototype: true } as const
const least: Problem = { code: 'hex.checksum', message: 'The checksum differs.' }
const full: Problem = {
  ...least,
  ...{ file: 'mine.hex', line: 12, field: 'data', expected: '5A', remedy: 'Fetch the file again.' },
}

describe('a problem', () => {
  it('needs a code and a message, and may say where, what was expected and what to do', () => {
    expect(problemSchema.parse(least)).toEqual(least)
    expect(problemSchema.parse(full)).toEqual(full)
  })

  const wrong: [string, object][] = [
    ['without a code', { code: undefined }],
    ['with an empty code', { code: '' }],
    ['with a code of a whole page', { code: 'x'.repeat(201) }],
    ['without a message', { message: undefined }],
    ['with a message that is no text', { message: { toString: 'x' } }],
    ['with half a line', { line: 1.5 }],
    ['with a line before the file', { line: -1 }],
    ['with a line in words', { line: '12' }],
    ['with null for what it does not say', { remedy: null }],
  ]
  it.each(wrong)('is none %s', (_what, change) =>
    expect(problemSchema.safeParse({ ...full, ...change }).success).toBe(false),
  )

  it('loses what nobody asked for', () =>
    expect(problemSchema.parse({ ...full, stack: 'at secret.ts:1', __html: '<b>' })).toEqual(full))

  it.each(FIELDS)(
    'that is too long is cut in its %s, not refused: the person has to see something',
    field => {
      const most = LONGEST[field]
      const whole = { ...full, [field]: 'x'.repeat(most) }
      expect(problemSchema.parse(whole)).toEqual(whole)
      const cut = problemSchema.parse({ ...full, [field]: 'x'.repeat(most + 1) })[field]
      expect(cut).toBe(`${'x'.repeat(most - 1)}…`)
      // The character at the cut takes two UTF-16 units; half of one is no text.
      for (const before of ['', 'x']) {
        const wide = problemSchema.parse({ ...full, [field]: before + '\u{1f6e9}'.repeat(most) })[field] ?? ''
        expect(wide).not.toMatch(/\p{Surrogate}/u)
        expect([0, 1]).toContain(most - wide.length)
      }
    },
  )

  it('passes again as it came out, whatever text is in it', () =>
    fc.assert(
      fc.property(
        fc.record({ code: fc.string({ minLength: 1, maxLength: 200 }), message: fc.string() }, plain),
        fc.integer({ min: 9_990, max: 10_010 }),
        (problem, length) => {
          const once = problemSchema.parse({ ...problem, remedy: 'é'.repeat(length) })
          expect(problemSchema.parse(once)).toEqual(once)
        },
      ),
      { numRuns: 50 },
    ))
})

describe('what the program says of files and requests that are out of all proportion', () => {
  const long = 'k'.repeat(20_000)
  const many = <T extends object>(item: T, name: string) =>
    Array.from({ length: 5000 }, (_, i) => ({ ...item, id: `${name}-${i}` }))
  const bench = smallBench()
  const [receiver] = bench.receivers
  const [image] = bench.images
  const cases: [string, () => Result<unknown>][] = [
    ['a card with an endless key', () => readImageCard(JSON.stringify({ [long]: 1 }), 'a.json')],
    ['a bench in a file with an endless name', () => readBench('{', long)],
    ['a bench whose ids are endless', () => readBench(writeBench(bench).replaceAll(receiver.id, long), 'a')],
    ['a hex file with an endless line', () => readIntelHex(new TextEncoder().encode(`:${long}`), long)],
    [
      'a hex file of which every line is wrong',
      () => readIntelHex(new TextEncoder().encode(':00000002FF\n'.repeat(5000)), 'a.hex'),
    ],
    [
      'a bench with five thousand receivers of a type that is not there',
      () =>
        checkBench({ ...bench, models: [], receivers: many({ ...receiver, typeId: 'gone' }, 'receiver') }),
    ],
    [
      'an image that is not among five thousand',
      () => rehearse(smallRequest({ bench: { ...bench, images: many(image, 'image') } })),
    ],
    [
      'a receiver that is not among five thousand',
      () => rehearse(smallRequest({ bench: { ...bench, receivers: many(receiver, 'receiver') } })),
    ],
    [
      'a fault with an endless value',
      () => rehearse(smallRequest({ faults: [{ name: 'power-cut', value: long }] })),
    ],
  ]

  it.each(cases)('reaches the window: %s', (_what, act) => {
    const result = act()
    if (result.ok) throw new Error('nothing was wrong')
    const { problems } = result
    const arrived = decodeEnvelope(encodeEnvelope({ id: 1, ok: false, problems: [...problems] }))
    const codes = problems.map(({ code }) => code)
    expect(arrived).toMatchObject({ ok: false, problems: codes.map(code => ({ code })) })
    const imported = importedSchema.parse({ fileName: 'a', got: 'problems', problems })
    expect(imported.got === 'problems' && imported.problems.map(({ code }) => code)).toEqual(codes)
  })

  it.each(['receiver', 'image'])('names a few that there are instead of a %s, not thousands', what => {
    const [, act] = cases.find(([title]) => title.includes(`${what} that is not among`)) ?? []
    const result = act?.()
    if (result === undefined || result.ok) throw new Error('nothing was wrong')
    const { expected = '' } = result.problems[0]
    expect(expected).toMatch(new RegExp(`^one of ${what}-0, ${what}-1, .* and \\d+ more$`))
    expect(expected.length).toBeLessThan(1000)
  })
})
