import { describe, expect, it } from 'vitest'
import { answerOf, recorded, withAnswers } from '../../shared/bench-run/answers.ts'
import { simulatedEnd } from '../../shared/bench-run/far-ends.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { type FarEnd, VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import type { Effect, Procedure, SessionEvent } from '../../shared/procedure/effects.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { planned } from '../support/write-plan.ts'

/** A write whose blocks go as a series and one whose blocks go one by one are the same to everybody but the clock. */

function carryOut(dialect: string, faults: readonly FaultChoice[], seed: number, inSeries: boolean) {
  const write = planned({ dialect })
  const laid = simulatedEnd(write, { seed, faults })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const sent: [number, string][] = []
  const { far } = laid.value
  const listening: FarEnd = {
    get nextNs() {
      return far.nextNs
    },
    hear: (octets, atNs) => {
      sent.push([atNs, Buffer.from(octets).toString('base64')])
      far.hear(octets, atNs)
    },
    begin: asked => far.begin(asked),
    runTo: atNs => far.runTo(atNs),
    taken: () => far.taken(),
    durationNs: octets => far.durationNs(octets),
    event: (atNs, event) => far.event(atNs, event),
  }
  const events: [number, SessionEvent][] = []
  const texts: string[] = []
  const files = new MemoryStore()
  const host = new VirtualHost(listening, {
    store: request => files.ask(request),
    onEvent: (event, atMs) => events.push([atMs, event]),
  })
  const count = { series: 0, effects: 0 }
  const procedure = counted(write.ready.procedure('b.bin', inSeries), count)
  const end = host.run(recorded(procedure, text => texts.push(text)))?.value
  return { write, count, seen: { sent, events, texts, end, atNs: host.nowNs, held: laid.value.held() } }
}

function* counted<R>(procedure: Procedure<R>, count: { series: number; effects: number }): Procedure<R> {
  let step = procedure.next({ got: 'done' })
  while (!step.done) {
    count.effects++
    if (step.value.do === 'series') count.series++
    step = procedure.next(yield step.value)
  }
  return step.value
}

const FAULTS: readonly FaultChoice[] = [
  { name: 'line-noise', value: '0.0003' },
  { name: 'first-write-fails' },
  { name: 'cut-at-block', value: '5' },
  { name: 'cable-loose' },
  { name: 'power-cut' },
  { name: 'supply-sag' },
  { name: 'silent' },
  { name: 'other-receiver' },
]
const DIALECTS = ['xmodem-crc', 'xmodem-1k', 'ymodem', 'st-an3155', 'preflash-bus']

describe.each(DIALECTS)('a write in series by %s', dialect => {
  it.each([undefined, ...FAULTS])('is octet for octet and moment for moment the same: %j', fault => {
    for (const seed of [1, 2, 3]) {
      const faults = fault ? [fault] : []
      const plain = carryOut(dialect, faults, seed, false)
      const series = carryOut(dialect, faults, seed, true)
      expect(series.seen).toEqual(plain.seen)
      expect(plain.count.series).toBe(0)
    }
  })
})

describe('a series', () => {
  it.each(['xmodem-crc', 'xmodem-1k', 'ymodem'])('is what nearly all blocks of %s go in', dialect => {
    const plain = carryOut(dialect, [], 1, false)
    const series = carryOut(dialect, [], 1, true)
    expect(series.count.series).toBeGreaterThan(0)
    expect(series.count.series).toBeLessThanOrEqual(2)
    expect(plain.count.effects / series.count.effects).toBeGreaterThan(2.5)
  })

  it('is begun again behind a block that had to be said again', () => {
    const noisy = carryOut('xmodem-crc', [{ name: 'line-noise', value: '0.0003' }], 1, true)
    expect(noisy.seen.events.filter(([, event]) => event.kind === 'retry').length).toBeGreaterThan(1)
    expect(noisy.count.series).toBeGreaterThan(2)
  })

  it('that is broken off is taken leave of, as one by one', () => {
    const leaving = (inSeries: boolean) => {
      const procedure = planned({ dialect: 'xmodem-crc' }).ready.procedure(undefined, inSeries)
      let step = procedure.next({ got: 'done' })
      while (!step.done && step.value.do !== 'send' && step.value.do !== 'series') {
        const isC = step.value.do === 'receive' && step.value.until(Uint8Array.of(0x43)) !== false
        step = procedure.next(
          isC && step.value.do === 'receive' && step.value.timeoutMs > 0
            ? { got: 'octets', octets: Uint8Array.of(0x43) }
            : { got: 'timeout' },
        )
      }
      if (!step.done && step.value.do === 'series') step.value.next()
      const said: Effect[] = []
      let last = procedure.return(undefined as never)
      while (!last.done) {
        said.push(last.value)
        last = procedure.next({ got: 'done' })
      }
      return said
    }
    expect(leaving(true)).toEqual(leaving(false))
    expect(leaving(true).map(effect => effect.do)).toEqual(['wait', 'send'])
  })

  it('is not what more than one question and answer a block go in', () => {
    expect(carryOut('st-an3155', [], 1, true).count.series).toBe(0)
    expect(carryOut('preflash-bus', [], 1, true).count.series).toBe(0)
  })

  it.each([[], [{ name: 'line-noise', value: '0.0003' }], [{ name: 'cut-at-block', value: '5' }]])(
    'is recorded so that it can be replayed one by one: %j',
    (...faults) => {
      const { write, seen } = carryOut('xmodem-crc', faults as FaultChoice[], 3, true)
      const answers = seen.texts.map(text => answerOf(text) ?? expect.fail(text))
      const again: Effect[] = []
      const replayed = withAnswers(write.ready.procedure('b.bin'), answers, effect => again.push(effect))
      expect(replayed).toMatchObject({ ranOut: false, taken: answers.length })
      expect(replayed.result).toEqual(seen.end)
      const sends = again.flatMap(e => (e.do === 'send' ? [Buffer.from(e.octets).toString('base64')] : []))
      expect(sends).toEqual(seen.sent.map(([, octets]) => octets))
    },
  )
})
