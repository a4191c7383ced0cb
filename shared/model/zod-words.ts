import type { z } from 'zod'

type Issue = z.core.$ZodIssue

/** What is wrong with a value in words for a person, and what would have been right. */
export interface IssueWords {
  readonly message: string
  readonly expected?: string
}

const types: Readonly<Record<string, string>> = {
  string: 'a text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  object: 'a group of fields',
  record: 'a group of fields',
  null: 'null',
}

const listed = (values: readonly unknown[]) => values.map(value => JSON.stringify(value)).join(' or ')

/** Many of our schemas say what they want as a noun phrase: "a version such as 2.3.1". */
const isPhrase = (message: string) => /^(an? |at |one |true |either )/.test(message)

const measured = (origin: string, limit: number | bigint, words: string) => {
  if (origin === 'string') return `${words} ${limit} characters`
  if (origin === 'array' || origin === 'set') return `a list with ${words} ${limit} in it`
  return `${words} ${limit}`
}

/** What would have been right, as a noun phrase; undefined where zod does not say. */
function expectedBy(issue: Issue): string | undefined {
  switch (issue.code) {
    case 'invalid_type':
      return types[issue.expected] ?? issue.expected
    case 'invalid_value':
      return listed(issue.values)
    case 'invalid_union': {
      const branches = issue.errors.flatMap(([first]) => (first ? [expectedBy(first)] : []))
      return [...new Set(branches.filter(branch => branch !== undefined))].join(', or ') || undefined
    }
    case 'too_small':
      if (issue.origin === 'string' && issue.minimum === 1) return 'a text that is not empty'
      return measured(issue.origin, issue.minimum, issue.inclusive === false ? 'more than' : 'at least')
    case 'too_big':
      return measured(issue.origin, issue.maximum, issue.inclusive === false ? 'less than' : 'at most')
    case 'not_multiple_of':
      return `a multiple of ${issue.divisor}`
    case 'invalid_format':
    case 'custom':
      return isPhrase(issue.message) ? issue.message : undefined
    default:
      return undefined
  }
}

/** A value as it may stand in a sentence, however long it is. */
function quoted(value: unknown): string {
  if (Array.isArray(value)) return `a list of ${value.length}`
  if (typeof value === 'object' && value !== null) return 'a group of fields'
  const text = JSON.stringify(value)
  return text.length <= 40 ? text : `${text.slice(0, 36)}…"`
}

/** What a whole file holds, where it should hold something of another kind. */
export const heldBy = (value: unknown): string => (Array.isArray(value) ? 'a list' : `only ${quoted(value)}`)

/** A JSON object (RFC 8259) in words for whoever mends a file by hand. */
export const OBJECT_WORDS = 'an object: fields with their values, between { and }'

const capital = (sentence: string) => sentence.charAt(0).toUpperCase() + sentence.slice(1)

/**
 * zod's complaint in plain words.
 * @param value what stands at the issue's path; undefined where nothing does
 */
export function wordsOfIssue(issue: Issue, value: unknown): IssueWords {
  if (issue.code === 'unrecognized_keys')
    return { message: `There is no field of this name: ${issue.keys.join(', ')}.` }
  const expected = expectedBy(issue)
  if (value === undefined) return { message: 'This field is missing.', expected }
  if (issue.code === 'custom' && expected === undefined) return { message: `${capital(issue.message)}.` }
  return { message: `This cannot be ${quoted(value)}.`, expected }
}

/** The complaint is of the whole: it is not even of the right kind. */
export const isOfOtherKind = ({ code, path }: Issue): boolean => code === 'invalid_type' && path.length === 0

/** The same as `wordsOfIssue` of a whole file that is of another kind. */
export const wordsOfWhole = (issue: Issue, value: unknown): IssueWords => ({
  message: `The file holds ${heldBy(value)}.`,
  expected: issue.code === 'invalid_type' && issue.expected === 'object' ? OBJECT_WORDS : expectedBy(issue),
})

/** The value at a path of keys and indices; undefined where there is none. */
export const valueAt = (root: unknown, path: readonly PropertyKey[]): unknown =>
  path.reduce<unknown>(
    (value, key) =>
      typeof value === 'object' && value !== null && Object.hasOwn(value, key)
        ? (value as Record<PropertyKey, unknown>)[key]
        : undefined,
    root,
  )
