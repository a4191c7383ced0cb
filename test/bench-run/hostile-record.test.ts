import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { answerOf, recorded } from '../../shared/bench-run/answers.ts'
import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import { simulatedEnd } from '../../shared/bench-run/far-ends.ts'
import { directToJson, planFromJson, planToJson } from '../../shared/bench-run/plan-json.ts'
import { replaySession } from '../../shared/bench-run/replay.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import type { LoggedEvent } from '../../shared/logbook/event.ts'
import { planned } from '../support/write-plan.ts'

/** Sessions come in files from other people: what is recorded in them may be anything. */

function recordOf(dialect: string) {
  const write = planned({ dialect })
  const laid = simulatedEnd(write, { seed: 3, faults: [] })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const texts: string[] = []
  const files = new MemoryStore()
  const host = new VirtualHost(laid.value.far, {
    store: request => files.ask(request),
    stopBefore: () => false,
  })
  host.run(recorded(write.ready.procedure('backup.bin'), text => texts.push(text)))
  return { plan: planToJson(write.plan, write.ready.chosen), texts }
}
const records = ['preflash-bus', 'st-an3155', 'xmodem-crc', 'ymodem'].map(recordOf)

const replay = (plan: unknown, answers: string[]) => {
  const event: LoggedEvent = { seq: 1, atMs: 0, event: { kind: 'answers', answers } }
  return replaySession({ session: { plan } as never, events: [event] })
}

const anyAnswer = fc.oneof(
  fc.constantFrom(
    't',
    'd',
    'n5',
    'n-1',
    'nNaN',
    'n1e308',
    'fabsent',
    'fnonsense',
    'r',
    'rx y',
    '=',
    't=',
    '',
    'q',
  ),
  fc.base64String({ maxLength: 200 }).map(text => `=${text}`),
  fc.base64String({ maxLength: 40 }).map(text => `t=${text}`),
  fc.string({ maxLength: 20 }),
)

describe('a recorded answer', () => {
  it('whatever the text is, it is one or it is not', () => {
    fc.assert(
      fc.property(anyAnswer, text => {
        const answer = answerOf(text)
        if (answer?.result.got === 'number') expect(Number.isFinite(answer.result.value)).toBe(true)
      }),
    )
  })
})

describe('a replay', () => {
  it('whatever the record says in place of an answer, it comes to an end and does not fall over', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...records),
        fc.array(fc.tuple(fc.nat(), anyAnswer), { minLength: 1, maxLength: 6 }),
        fc.nat(),
        ({ plan, texts }, changes, cut) => {
          const answers = [...texts].slice(0, cut % 3 === 0 ? cut % texts.length : texts.length)
          for (const [at, text] of changes) answers[at % Math.max(1, answers.length)] = text
          const done = replay(plan, answers)
          if (!done.ok) expect(done.problems[0].code).toMatch(/^session\./)
        },
      ),
      { numRuns: 200 },
    )
  }, 60_000)

  it('of nothing but rubbish comes to an end', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...records),
        fc.array(anyAnswer, { maxLength: 60 }),
        ({ plan }, answers) => {
          replay(plan, answers)
        },
      ),
      { numRuns: 200 },
    )
  }, 60_000)
})

describe('the plan of a session', () => {
  const chosen = builtInChosen('st-an3155')
  if (chosen?.kind !== 'data') throw new Error('no such dialect')
  const direct = directToJson(
    {
      dialect: chosen.dialect,
      ...{ baud: 115_200, pages: [0], echo: undefined, backup: undefined, expect: {} },
      image: { octets: Uint8Array.of(1, 2, 3), name: 'x.bin', address: 0x0800_0000, version: null },
    },
    chosen.text,
  )
  const plans = [direct, ...records.map(({ plan }) => plan)]

  it('may be any JSON: it is read, or refused in words', () => {
    fc.assert(
      fc.property(fc.jsonValue({ maxDepth: 4 }), json => {
        const read = planFromJson(json)
        if (!read.ok) expect(read.problems[0].message).not.toBe('')
      }),
    )
  })

  it('may have any field changed', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...plans),
        fc.nat(),
        fc.jsonValue({ maxDepth: 3 }),
        (plan, which, value) => {
          const copy = structuredClone(plan) as Record<string, unknown>
          const inner = copy.plan as Record<string, unknown> | undefined
          const fields = [...Object.keys(copy).map(k => [copy, k] as const)].concat(
            inner ? Object.keys(inner).map(k => [inner, k] as const) : [],
          )
          const [parent, key] = fields[which % fields.length]
          parent[key] = value
          const read = planFromJson(copy)
          if (read.ok) replay(copy, ['t', 't', '='])
        },
      ),
      { numRuns: 300 },
    )
  }, 60_000)
})
