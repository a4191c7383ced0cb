import { describe, expect, it } from 'vitest'
import { z } from 'zod'
import { demoBench } from '../../shared/demo/bench.ts'
import { checkBench, readBench } from '../../shared/model/bench.ts'
import { sayProblem } from '../../shared/model/problem.ts'
import { known } from '../../shared/model/units.ts'
import { valueAt, wordsOfIssue } from '../../shared/model/zod-words.ts'

const words = (schema: z.ZodType, value: unknown) => {
  const parsed = schema.safeParse(value)
  if (parsed.success) throw new Error('nothing is wrong with it')
  const [issue] = parsed.error.issues
  return wordsOfIssue(issue, valueAt(value, issue.path))
}

describe('complaints about a value, in words', () => {
  it.each([
    [z.string(), 17, 'This cannot be 17.', 'a text'],
    [z.number(), 'x', 'This cannot be "x".', 'a number'],
    [z.boolean(), [1, 2], 'This cannot be a list of 2.', 'true or false'],
    [z.array(z.string()), {}, 'This cannot be a group of fields.', 'a list'],
    [z.string().min(1), '', 'This cannot be "".', 'a text that is not empty'],
    [z.string().max(3), 'abcd', 'This cannot be "abcd".', 'at most 3 characters'],
    [z.string().max(3), 'a'.repeat(99), `This cannot be "${'a'.repeat(35)}…".`, 'at most 3 characters'],
    [z.array(z.string()).min(1), [], 'This cannot be a list of 0.', 'a list with at least 1 in it'],
    [z.number().positive(), 0, 'This cannot be 0.', 'more than 0'],
    [z.number().max(9), 10, 'This cannot be 10.', 'at most 9'],
    [z.enum(['cable', 'wireless']), 'post', 'This cannot be "post".', '"cable" or "wireless"'],
    [z.literal(1), 2, 'This cannot be 2.', '1'],
    [z.object({ a: z.string() }), {}, 'This field is missing.', 'a text'],
    [z.strictObject({}), { hat: 1 }, 'There is no field of this name: hat.', undefined],
    [z.string().refine(() => false, 'an even one'), 'x', 'This cannot be "x".', 'an even one'],
    [z.string().refine(() => false, 'odd is not even'), 'x', 'Odd is not even.', undefined],
  ])('%#', (schema, value, message, expected) => {
    expect(words(schema, value)).toEqual(expected === undefined ? { message } : { message, expected })
  })

  it('name every way that would have been right', () => {
    expect(words(known(z.boolean()), 7).expected).toBe('true or false, or "unknown"')
  })

  it('do not follow a path through what an object only inherits', () => {
    expect(valueAt({ a: [{ b: 1 }] }, ['a', 0, 'b'])).toBe(1)
    expect(valueAt({}, ['constructor', 'name'])).toBeUndefined()
    expect(valueAt('text', ['length'])).toBeUndefined()
  })
})

describe('a file that is no bench', () => {
  it.each([
    ['null', 'only null'],
    ['7', 'only 7'],
    ['"x"', 'only "x"'],
    ['[]', 'a list'],
  ])('but %s is said so, and what to do', (text, held) => {
    expect(readBench(text, 'a.json')).toMatchObject({
      problems: [
        {
          message: `The file holds ${held}.`,
          expected: 'an object: fields with their values, between { and }',
          remedy: expect.stringMatching(/^Choose another file/),
        },
      ],
    })
  })

  const problems = (raw: unknown) => {
    const checked = checkBench(raw, 'mine.preflash.json')
    return checked.ok ? [] : checked.problems
  }

  it('is told as such, in one sentence and not in one a field', () => {
    for (const raw of [{}, { name: 'x' }, { ...demoBench(), format: 'other' }])
      expect(problems(raw).map(p => [p.code, p.field])).toEqual([['bench.not-a-bench', 'format']])
    expect(problems({ ...demoBench(), formatVersion: 2 }).map(p => [p.code, p.field])).toEqual([
      ['bench.version', 'formatVersion'],
    ])
  })

  it('but nearly is one names the field, what stands there and what should', () => {
    const { receivers, ...rest } = demoBench()
    const [first, ...others] = receivers
    const raw = { ...rest, receivers: [{ ...first, firmware: '2.3' }, ...others] }
    expect(problems(raw).map(sayProblem)).toEqual([
      expect.stringMatching(
        /^mine\.preflash\.json, receivers\[0\]\.firmware: This cannot be "2\.3"\. Expected: a version such as 2\.3\.1\. Correct/,
      ),
    ])
  })

  it('is never told in the words of a programming language', () => {
    const text = JSON.stringify(demoBench())
    for (const [from, to] of [
      ['"nickname":"', '"nickname":7,"was":"'],
      ['"generation":3', '"generation":"three"'],
      ['"bands":[', '"bands":true,"was":['],
      ['"moduleIds":[', '"moduleIds":{},"was":['],
    ]) {
      expect(text).toContain(from)
      const read = readBench(text.replace(from, to), 'mine.preflash.json')
      for (const problem of read.ok ? [] : read.problems)
        expect(sayProblem(problem)).not.toMatch(/Invalid|undefined|received|array|object|string|boolean/)
      expect(read.ok).toBe(false)
    }
  })
})
