import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { answerOf, answerText, recorded, withAnswers } from '../../shared/bench-run/answers.ts'
import { simulatedEnd } from '../../shared/bench-run/far-ends.ts'
import { planFromJson, planToJson } from '../../shared/bench-run/plan-json.ts'
import { replaySession } from '../../shared/bench-run/replay.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import type { LoggedEvent } from '../../shared/logbook/event.ts'
import type { Effect, EffectResult, SessionEvent } from '../../shared/procedure/effects.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { planned } from '../support/write-plan.ts'

const said = (effects: readonly Effect[]) => effects.flatMap(e => (e.do === 'say' ? [e.event] : []))
const sent = (effects: readonly Effect[]) =>
  effects.flatMap(e => (e.do === 'send' ? [[...e.octets].join()] : []))

function record(dialect: string, faults: FaultChoice[]) {
  const write = planned({ dialect })
  const laid = simulatedEnd(write, { seed: 3, faults })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const texts: string[] = []
  const effects: Effect[] = []
  const files = new MemoryStore()
  const host = new VirtualHost(laid.value.far, {
    store: request => files.ask(request),
    stopBefore: effect => {
      effects.push(effect)
      return false
    },
  })
  const result = host.run(recorded(write.ready.procedure('b.bin'), text => texts.push(text)))?.value
  return { write, texts, effects, result }
}

describe('a session that is replayed with its recorded answers', () => {
  it.each([
    ['preflash-bus', []],
    ['preflash-bus', [{ name: 'first-write-fails' }]],
    ['preflash-bus', [{ name: 'line-noise' }]],
    ['st-an3155', []],
    ['st-an3155', [{ name: 'line-noise' }]],
    ['st-an3155', [{ name: 'cut-at-block', value: '5' }]],
    ['xmodem-crc', []],
    ['ymodem', [{ name: 'line-noise' }]],
  ])('does and says the same again: %s with %j', (dialect, faults) => {
    const { write, texts, effects, result } = record(dialect, faults)
    const answers = texts.map(text => answerOf(text) ?? expect.fail(text))
    const again: Effect[] = []
    const replayed = withAnswers(write.ready.procedure('b.bin'), answers, effect => again.push(effect))
    expect(replayed).toMatchObject({ ranOut: false, taken: answers.length })
    expect(said(again)).toEqual(said(effects))
    expect(sent(again)).toEqual(sent(effects))
    expect(replayed.result).toEqual(result)
  })

  it('comes to an end where the record does', () => {
    const { write, texts } = record('preflash-bus', [])
    const answers = texts.slice(0, 20).map(text => answerOf(text) ?? expect.fail(text))
    const replayed = withAnswers(write.ready.procedure(), answers, () => {})
    expect(replayed).toEqual({ result: undefined, taken: 20, ranOut: true })
  })

  it('reads every kind of answer as it was written, and nothing else', () => {
    const results: EffectResult[] = [
      { got: 'done' },
      { got: 'timeout' },
      { got: 'octets', octets: Uint8Array.of(0, 255, 7) },
      { got: 'number', value: 4096 },
      { got: 'failed', why: 'full' },
      { got: 'refused', rule: 'radio-battery', text: 'The battery is low.' },
    ]
    for (const result of results) expect(answerOf(answerText(result))).toEqual({ result })
    expect(answerOf(answerText({ got: 'timeout' }, Uint8Array.of(9)))).toEqual({
      result: { got: 'timeout' },
      heard: Uint8Array.of(9),
    })
    for (const text of ['', 'x', '=!', 'nfour', 't=%']) expect(answerOf(text)).toBeUndefined()
  })
})

describe('a session of another version', () => {
  const noisy = record('st-an3155', [{ name: 'line-noise' }])
  const { effects } = noisy
  const replay = (events: readonly SessionEvent[]) => replayOf(noisy, events)
  function replayOf({ write, texts }: typeof noisy, events: readonly SessionEvent[]) {
    const plan = planToJson(write.plan, write.ready.chosen)
    const logged = [...events, { kind: 'answers' as const, answers: texts }].map(
      (event, seq): LoggedEvent => ({ seq, atMs: 0, event }),
    )
    const done = replaySession({ session: { plan } as never, events: logged })
    return done.ok ? done.value : expect.fail(done.problems[0].message)
  }
  const events = said(effects).filter(event => event.kind !== 'progress')
  const isAside = (event: SessionEvent) => event.kind === 'note' && event.level === 'info'

  it('does not part over what was told only so that one can follow', () => {
    expect(events.filter(isAside).length).toBeGreaterThan(0)
    const now = replay(events)
    expect(now).toMatchObject({ same: true, parts: null, agreed: now.events.length })
    const without = replay(events.filter(event => !isAside(event)))
    expect(without).toMatchObject({ same: true, parts: null, agreed: now.events.length })
    const aside: SessionEvent = { kind: 'note', level: 'info', text: 'In other words.' }
    const more = events.flatMap(event => [aside, ...(isAside(event) ? [] : [event])])
    expect(replay([...more, aside])).toMatchObject({ same: true, parts: null })
  })

  it('does not part over the words of what is to be minded, but over its place', () => {
    const failed = record('st-an3155', [{ name: 'first-write-fails' }])
    const told = said(failed.effects).filter(event => event.kind !== 'progress')
    const isCaution = (event: SessionEvent) => event.kind === 'note' && event.level === 'caution'
    expect(told.filter(isCaution).length).toBeGreaterThan(0)
    const reworded = told.map(event => (isCaution(event) ? { ...event, text: 'In other words.' } : event))
    expect(replayOf(failed, reworded as SessionEvent[])).toMatchObject({ same: true, parts: null })
    expect(replayOf(failed, told.filter(event => !isCaution(event)) as SessionEvent[]).same).toBe(false)
  })

  it('parts over everything else, and an aside before it is not what is shown', () => {
    const at = events.findIndex((event, i) => i > 0 && isAside(events[i - 1]) && event.kind !== 'note')
    expect(at).toBeGreaterThan(0)
    const other = replay(events.filter((_, i) => i !== at))
    expect(other.same).toBe(false)
    expect(other.parts?.replayed).toEqual(events[at])
  })
})

describe('a plan in the logbook', () => {
  it.each(['preflash-bus', 'st-an3155'])('is read back as it was: %s', dialect => {
    const { plan, ready } = planned({ dialect })
    const read = planFromJson(JSON.parse(JSON.stringify(planToJson(plan, ready.chosen))))
    if (!read.ok) throw new Error(read.problems[0].message)
    expect(read.value.plan).toEqual(plan)
    expect(read.value.ready.image.sha256).toBe(ready.image.sha256)
  })

  it('keeps the octets of a file', () => {
    const octets = Uint8Array.from({ length: 3000 }, (_, i) => (i * 7) & 0xff)
    const { plan, ready } = planned({ image: { kind: 'file', fileName: 'a.bin', octets } })
    const read = planFromJson(JSON.parse(JSON.stringify(planToJson(plan, ready.chosen))))
    expect(read.ok && read.value.plan?.image).toEqual({ kind: 'file', fileName: 'a.bin', octets })
  })

  it('is left out where it is too large, and keeps nobody from writing', () => {
    const octets = new Uint8Array(19 * 1024 * 1024)
    const { plan, ready } = planned()
    expect(
      planToJson({ ...plan, image: { kind: 'file', fileName: 'a.bin', octets } }, ready.chosen),
    ).toBeNull()
  })

  it('whatever stands there instead, nothing is thrown', () => {
    const { plan, ready } = planned()
    const json = JSON.stringify(planToJson(plan, ready.chosen))
    fc.assert(
      fc.property(fc.jsonValue(), value => void planFromJson(value)),
      { numRuns: 300 },
    )
    fc.assert(
      fc.property(fc.nat(json.length - 1), fc.string({ maxLength: 3 }), (at, text) => {
        try {
          planFromJson(JSON.parse(json.slice(0, at) + text + json.slice(at + 1)))
        } catch (error) {
          expect(error).toBeInstanceOf(SyntaxError)
        }
      }),
      { numRuns: 60 },
    )
    fc.assert(
      fc.property(fc.string(), text => void answerOf(text)),
      { numRuns: 500 },
    )
  })

  it('is refused where it is none', () => {
    for (const json of [null, {}, { kind: 'bench', dialectText: '{', octets: null, plan: {} }])
      expect(planFromJson(json).ok).toBe(false)
  })
})
