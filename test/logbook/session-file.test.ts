import { describe, expect, it } from 'vitest'
import { boundedJsonSchema } from '../../shared/logbook/bounded-json.ts'
import { logEventSchema, sessionEventSchema } from '../../shared/logbook/event.ts'
import { sessionHeadSchema } from '../../shared/logbook/session.ts'
import {
  readSessionFile,
  type SessionFile,
  sessionFileSchema,
  writeSessionFile,
} from '../../shared/logbook/session-file.ts'
import type { SessionEvent } from '../../shared/procedure/effects.ts'

const file: SessionFile = {
  format: 'preflash-session',
  formatVersion: 1,
  session: {
    ...{ id: '017f22e2-79b0-7cc3-98c4-dc0c0c07398f', kind: 'write', receiverId: 'wren-trainer' },
    ...{ nickname: 'Wren, trainer', typeId: 'wren-6', benchName: 'Club', port: 'Blue cable', dialect: 'bus' },
    image: { name: 'wren.hex', version: '2.3.1', sha256: 'a'.repeat(64), sizeBytes: 262_144 },
    ...{ recovers: null, plan: { route: 'cable', seed: 7, list: [1, null, 'x'] } },
    ...{ startedAtMs: 1_000, endedAtMs: null, ending: null, outcome: null },
  },
  events: [
    { seq: 1, atMs: 1_001, event: { kind: 'phase', phase: 'erase', attempt: 1 } },
    {
      seq: 2,
      atMs: 1_002,
      event: { kind: 'effect', effect: 'erase', offset: 0, bytes: 2048, text: 'About to erase page 0.' },
    },
    { seq: 3, atMs: 1_003, event: { kind: 'state', state: 'in-boot-loader', text: 'It waits.' } },
  ],
  finding: null,
}
type Part = Record<string | number, unknown>
/** The text of the file with one field changed. */
function withField(path: readonly (string | number)[], value: unknown): string {
  const copy = JSON.parse(JSON.stringify(file)) as Part
  const parent = path.slice(0, -1).reduce<Part>((at, key) => at[key] as Part, copy)
  parent[path[path.length - 1]] = value
  return JSON.stringify(copy)
}
const problemOf = (text: string) => {
  const read = readSessionFile(text, 'x.json')
  if (read.ok) throw new Error('was read')
  return read.problems[0]
}

describe('a session file', () => {
  it('comes back as it was written', () => {
    const read = readSessionFile(writeSessionFile(file), 'x.json')
    expect(read).toEqual({ ok: true, value: file, warnings: [] })
    expect(sessionFileSchema.parse(file)).toEqual(file)
  })

  it.each([
    ['session.id', ['session', 'id'], 'nonsense', 'session.field'],
    ['session.kind', ['session', 'kind'], 'party', 'session.field'],
    ['session.image.sha256', ['session', 'image', 'sha256'], 'A'.repeat(64), 'session.field'],
    ['session.startedAtMs', ['session', 'startedAtMs'], -1, 'session.field'],
    ['session.outcome', ['session', 'outcome'], 'lost', 'session.field'],
    ['events[1].event.effect', ['events', 1, 'event', 'effect'], 'melt', 'session.field'],
    ['events[0].event.kind', ['events', 0, 'event', 'kind'], 'shout', 'session.field'],
    ['events[1].seq', ['events', 1, 'seq'], 1, 'session.order'],
    ['events[2].seq', ['events', 2, 'seq'], 4, 'session.order'],
    ['events[0].seq', ['events', 0, 'seq'], 2, 'session.order'],
    ['format', ['format'], 'preflash-bench', 'session.not-a-session'],
    ['formatVersion', ['formatVersion'], 2, 'session.version'],
  ])('names %s where it is wrong', (field, path, value, code) => {
    const problem = problemOf(withField(path, value))
    expect(problem).toMatchObject({ code, field, file: 'x.json' })
    expect(problem.remedy).toBeTruthy()
  })

  it('names the line where it stops being JSON', () => {
    expect(problemOf('{\n "format": "preflash-session",\n oops }')).toMatchObject({
      code: 'session.not-json',
      line: 3,
    })
    expect(problemOf('')).toMatchObject({ code: 'session.not-json' })
    expect(problemOf('[]')).toMatchObject({ code: 'session.not-a-session' })
  })

  it('is not read where it is so deep or so large that it would bring the reader down', () => {
    const deep = `${'['.repeat(100_000)}${']'.repeat(100_000)}`
    const text = JSON.stringify({ ...file, session: { ...file.session, plan: 'HERE' } }).replace(
      '"HERE"',
      deep,
    )
    expect(problemOf(text)).toMatchObject({
      code: 'session.not-json',
      message: expect.stringContaining('100 deep'),
    })
    expect(problemOf(' '.repeat(64 * 1024 * 1024 + 1))).toMatchObject({ code: 'session.too-large' })
  })
})

describe('boundedJsonSchema', () => {
  const takes = (value: unknown) => boundedJsonSchema(20).safeParse(value).success
  it('takes what JSON can say, and nothing else', () => {
    expect([null, 1, 'a', true, [], {}, { a: [1] }, { a: undefined }].map(takes)).not.toContain(false)
    expect([undefined, Number.NaN, 1n, () => 1, new Date(0), { a: new Map() }].map(takes)).not.toContain(true)
  })
  it('counts the letters', () => {
    expect(takes('x'.repeat(18))).toBe(true)
    expect(takes('x'.repeat(19))).toBe(false)
  })
})

describe('events', () => {
  const every: readonly SessionEvent[] = [
    { kind: 'phase', phase: 'write', attempt: 2 },
    { kind: 'progress', done: 1, total: 2 },
    { kind: 'note', level: 'caution', text: '' },
    { kind: 'retry', what: 'write', tries: 3, text: 'again' },
    { kind: 'attempt-failed', attempt: 1, code: 'no-answer', text: 'silence' },
    { kind: 'fault', fault: 'cut', text: 'power' },
    { kind: 'refused', by: 'receiver', rule: 'image-type', text: 'no' },
    { kind: 'outcome', outcome: 'updated', text: 'runs' },
  ]
  it('holds all that a procedure says', () => {
    expect(every.map(event => sessionEventSchema.parse(event))).toEqual(every)
    expect(every.map(event => logEventSchema.parse(event))).toEqual(every)
  })
  it('holds what is announced, answered and known besides, which a procedure does not say', () => {
    const more = [
      { kind: 'effect', effect: 'write', offset: 64, bytes: 64, text: 'About to write.' },
      { kind: 'answer', to: 'step-3', said: 'something else', text: 'Does the light blink?' },
      { kind: 'state', state: 'runs', version: '2.3.1', text: 'It runs.' },
    ]
    expect(more.map(event => logEventSchema.parse(event))).toEqual(more)
    expect(more.some(event => sessionEventSchema.safeParse(event).success)).toBe(false)
  })
  it('does not take an ending for what it is not', () => {
    expect(sessionHeadSchema.shape.ending.safeParse('updated').success).toBe(false)
  })
})
