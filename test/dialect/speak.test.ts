import { describe, expect, it } from 'vitest'
import { identifyByDialect } from '../../shared/dialect/ask.ts'
import { BUILT_IN_NAMES, builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { tamsinDart, tamsinTwig } from '../../shared/dialect/built-in/tamsin.ts'
import { Context } from '../../shared/dialect/context.ts'
import { AttemptFailed, DialectRun } from '../../shared/dialect/run.ts'
import { type Dialect, type DialectInput, dialectSchema } from '../../shared/dialect/schema.ts'
import { Speaker } from '../../shared/dialect/speak.ts'
import { talk } from '../support/boot-rom-rig.ts'

const base: DialectInput = {
  format: 'preflash-dialect',
  formatVersion: 1,
  name: 'plain',
  title: 'Plain',
  source: { text: 'this test', date: '2026' },
  line: { baud: [9600] },
  block: { octets: 8 },
  retries: { request: 3 },
  timings: { page: { ms: 10, perPageMs: 5, perOctetMs: 2 } },
  replies: {
    ok: { octets: '06', means: 'ok' },
    again: { octets: '15', means: 'again' },
    no: { octets: '1B', means: 'refused', text: 'it said no' },
    wait: { octets: '11', means: 'wait' },
  },
  write: { block: [{ do: 'send', parts: [{ part: 'data' }] }] },
}
const answer = { do: 'expect', replies: ['ok', 'again', 'no', 'wait'], within: 10 } as const
const asking = (steps: NonNullable<DialectInput['enter']>): Dialect =>
  dialectSchema.parse({ ...base, enter: steps })
const ask = (peer: (sent: string) => string, change: object = {}) => {
  const dialect = asking([
    {
      do: 'request',
      what: 'hello',
      steps: [
        { do: 'send', parts: [{ part: 'octets', hex: '48' }] },
        { ...answer, ...change, replies: [...answer.replies] },
      ],
    },
  ])
  const speaker = new Speaker(dialect, 9600, new Context())
  return { ...talk(speaker.carryOut(dialect.enter), peer), speaker }
}

describe('a request', () => {
  it('is said until it goes through, and repeats are counted and told', () => {
    let times = 0
    const { result, speaker, effects } = ask(() => (++times < 3 ? '15' : '06'))
    expect(result.went).toBe('ok')
    expect(speaker.retries).toBe(2)
    expect(effects.filter(e => e.do === 'say' && e.event.kind === 'retry')).toHaveLength(2)
  })

  it('that is refused is not said again', () => {
    const { result, sent } = ask(() => '1B')
    expect(result).toMatchObject({
      went: 'refused',
      text: 'the receiver refused the call to its boot loader (it said no)',
    })
    expect(sent).toHaveLength(1)
  })

  it('is given up after so many tries, with words for why', () => {
    expect(ask(() => '').result).toMatchObject({ went: 'failed', code: 'no-answer' })
    expect(ask(() => '15').result).toMatchObject({ went: 'failed', code: 'lost-contact' })
    expect(ask(() => '99').sent).toHaveLength(3)
    expect(ask(() => '15', { refusal: 'It is locked.' }).result).toMatchObject({
      went: 'refused',
      text: 'It is locked.',
    })
  })

  it('waits on where the receiver says not yet, and not for ever', () => {
    expect(ask(() => '11 11 06').result.went).toBe('ok')
    expect(ask(() => Array(200).fill('11').join(' ')).result.went).toBe('failed')
  })
})

describe('other steps', () => {
  it('line, wait, repeat, when and fail do as they say', () => {
    const dialect = asking([
      { do: 'line', dtr: true, rts: false, break: true },
      { do: 'wait', for: 'page' },
      {
        do: 'repeat',
        what: 'knock',
        times: 5,
        steps: [
          { do: 'send', parts: [{ part: 'octets', hex: '55' }] },
          { do: 'expect', replies: ['ok'], within: 5, capture: 'came' },
        ],
      },
      { do: 'when', of: 'capture:came', is: 6, steps: [{ do: 'fail', text: 'Not this one.' }] },
    ])
    const c = new Context()
    Object.assign(c, { pageCount: 2, length: 3 })
    let knocks = 0
    const { result, effects, sent } = talk(new Speaker(dialect, 9600, c).carryOut(dialect.enter), () =>
      ++knocks === 3 ? '06' : '',
    )
    expect(effects[0]).toEqual({ do: 'line', dtr: true, rts: false, break: true })
    expect(effects[1]).toEqual({ do: 'wait', ms: 26 })
    expect(sent).toHaveLength(3)
    expect(result).toMatchObject({ went: 'failed', code: 'not-supported', text: 'Not this one.' })
  })

  it('time-outs hold the time that the answer takes on the line', () => {
    const { effects } = ask(() => '06')
    const receive = effects.find(e => e.do === 'receive')
    expect(receive?.do === 'receive' && receive.timeoutMs).toBeCloseTo(10 + (4 * 10 * 1000) / 9600, 6)
  })
})

describe('runs', () => {
  it('what ends an attempt says whether another one is worth it', () => {
    const run = new DialectRun({ dialect: builtInDialects().get('st-an3155') as Dialect, baud: 9600 })
    expect(run.failureOf({ went: 'refused', text: 'no' })).toMatchObject({
      code: 'refused',
      final: true,
      message: 'No.',
    })
    expect(run.failureOf({ went: 'nothing', text: '' })).toMatchObject({ code: 'no-answer', final: false })
    expect(run.failureOf({ went: 'stop', text: 'x' })).toBeInstanceOf(AttemptFailed)
  })

  it('a dialect that cannot ask says so without a word on the line', () => {
    const xmodem = builtInDialects().get('xmodem-crc') as Dialect
    const { result, effects } = talk(identifyByDialect({ dialect: xmodem, baud: 9600 }), () => '')
    expect(result).toMatchObject({ ended: 'failed', code: 'not-supported' })
    expect(effects).toEqual([])
  })

  it('names: the five that need no file, and two demo files', () => {
    expect(BUILT_IN_NAMES).toEqual(['preflash-bus', 'st-an3155', 'xmodem-crc', 'xmodem-1k', 'ymodem'])
    expect([tamsinDart, tamsinTwig].every(input => dialectSchema.safeParse(input).success)).toBe(true)
  })
})
