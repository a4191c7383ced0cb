import { describe, expect, it } from 'vitest'
import { builtInChosen, builtInList } from '../../shared/bench-run/chosen.ts'
import { Rate } from '../../shared/bench-run/rate.ts'
import { simBench } from '../../shared/bench-run/sim-bench.ts'
import { StepLog } from '../../shared/bench-run/step-log.ts'
import { MemoryStore } from '../../shared/bench-run/store.ts'
import { type FarEnd, VirtualHost } from '../../shared/bench-run/virtual-host.ts'
import { readDialect } from '../../shared/dialect/schema.ts'
import { checkBench } from '../../shared/model/bench.ts'
import type { Procedure } from '../../shared/procedure/effects.ts'
import { stageFile } from '../../shared/procedure/stage.ts'
import { writePlan } from '../support/write-plan.ts'

describe('rate and time left', () => {
  it('follow from what was done over the last seconds', () => {
    const rate = new Rate()
    expect(rate.perSecond(0)).toBeUndefined()
    for (let s = 0; s <= 10; s++) rate.tell(s * 1000, s * 500)
    expect(rate.perSecond(10_000)).toBe(500)
    expect(rate.secondsLeft(10_000, 10_000)).toBe(10)
  })

  it('show a stall, and begin anew when it is begun anew', () => {
    const rate = new Rate()
    rate.tell(0, 0)
    rate.tell(1000, 1000)
    expect(rate.perSecond(4000)).toBe(250)
    rate.tell(5000, 10)
    expect(rate.perSecond(5100)).toBeUndefined()
  })
})

describe('the steps of a write', () => {
  it('follow each other without gaps, with the pause before another attempt', () => {
    const log = new StepLog({ step: 'open', atMs: 0 })
    log.tell({ kind: 'phase', phase: 'enter', attempt: 1 }, 10)
    log.tell({ kind: 'attempt-failed', attempt: 1, code: 'no-answer', text: '' }, 20)
    log.tell({ kind: 'phase', phase: 'enter', attempt: 2 }, 30)
    expect(log.now).toMatchObject({ step: 'enter', attempt: 2, endMs: null })
    log.end(40)
    expect(log.steps.map(s => [s.step, s.startMs, s.endMs])).toEqual([
      ['open', 0, 10],
      ['enter', 10, 20],
      ['pause', 20, 30],
      ['enter', 30, 40],
    ])
  })

  it('know no pause after the last attempt', () => {
    const log = new StepLog()
    log.tell({ kind: 'phase', phase: 'enter', attempt: 1 }, 0)
    log.tell({ kind: 'attempt-failed', attempt: 1, code: 'no-answer', text: '' }, 5)
    log.end(5)
    expect(log.steps.map(s => s.step)).toEqual(['enter'])
  })
})

/** Answers a store's questions, and nothing else. */
function stored<R>(procedure: Procedure<R>, store: MemoryStore): R {
  let step = procedure.next({ got: 'done' })
  while (!step.done)
    step = procedure.next(step.value.do === 'store' ? store.ask(step.value.request) : { got: 'done' })
  return step.value
}

describe('a store that is nothing but memory', () => {
  it('takes a file by the procedure that puts files on cards', () => {
    const store = new MemoryStore()
    const octets = Uint8Array.from({ length: 10_000 }, (_, i) => i & 0xff)
    stored(stageFile({ path: 'backup.bin', octets }), store)
    expect([...store.files.keys()]).toEqual(['backup.bin'])
    expect(store.files.get('backup.bin')).toEqual(octets)
    expect(store.ask({ op: 'read', path: 'other', offset: 0, bytes: 1 })).toEqual({
      ...{ got: 'failed', why: 'not-found' },
    })
  })
})

/** Says two octets, a while after it was spoken to. */
class Parrot implements FarEnd {
  nextNs = Number.POSITIVE_INFINITY
  #said: { octets: Uint8Array }[] = []
  #octets = new Uint8Array(0)
  hear(octets: Uint8Array, atNs: number): void {
    this.#octets = octets.slice()
    this.nextNs = atNs + 5e6
  }
  begin = () => true
  runTo(atNs: number): void {
    if (atNs < this.nextNs) return
    this.nextNs = Number.POSITIVE_INFINITY
    this.#said.push({ octets: this.#octets })
  }
  taken() {
    return this.#said.splice(0)
  }
  durationNs = (octets: number) => octets * 1e5
  event(): void {}
}

describe('a host in simulated time', () => {
  function* asks(): Procedure<number[]> {
    yield { do: 'send', octets: Uint8Array.of(1, 2) }
    const heard = yield { do: 'receive', until: got => (got.length >= 2 ? 2 : false), timeoutMs: 50 }
    const nothing = yield { do: 'receive', until: () => 1, timeoutMs: 30 }
    return [...(heard.got === 'octets' ? heard.octets : []), nothing.got === 'timeout' ? 99 : 0]
  }
  const store = () => ({ got: 'done' }) as const

  it('hears an answer when it is said, and waits as long as it said and no longer', () => {
    const host = new VirtualHost(new Parrot(), { store })
    expect(host.run(asks())?.value).toEqual([1, 2, 99])
    expect(host.nowNs).toBe(5e6 + 30e6)
    const late = new VirtualHost(new Parrot(), { store, latencyMs: 16 })
    late.run(asks())
    expect(late.nowNs).toBe(5e6 + 16e6 + 30e6)
  })
})

describe('the ways of writing that need no file', () => {
  it('are found by name, with a text that reads as the same dialect', () => {
    for (const { name, can } of builtInList()) {
      const chosen = builtInChosen(name)
      expect(chosen?.name).toBe(name)
      if (chosen?.kind !== 'data') continue
      expect(readDialect(chosen.text, 'x')).toMatchObject({ ok: true, value: chosen.dialect })
      expect(can.backup).toBe(chosen.dialect.read !== undefined)
    }
    expect(builtInChosen('nobody')).toBeUndefined()
  })

  it('say plainly which of them can prove that the receiver runs the image', () => {
    const proves = builtInList().filter(d => d.can.prove)
    expect(proves.map(d => d.name)).toEqual(['preflash-bus', 'tamsin-dart'])
  })
})

describe('the bench with the programmer in place of the radio', () => {
  it('is a bench still, and feeds the receiver as the adapter does', () => {
    const made = simBench(writePlan())
    expect(checkBench(made)).toMatchObject({ ok: true })
    const supply = made.supplies.at(-1)
    expect(supply).toMatchObject({ volts: 5, limitMilliamps: 450 })
    expect(supply?.internalOhms).toBeGreaterThan(0.4)
    expect(made.models.find(m => m.receiverIds.includes('wren-trainer'))?.servos).toBe(0)
  })

  it('takes the supply that the plan names', () => {
    const made = simBench(writePlan({ feed: 'own-supply', supplyId: 'nimh-4' }))
    const named = made.supplies.find(s => s.id === 'nimh-4')
    expect(made.supplies.at(-1)).toMatchObject({ volts: named?.volts, internalOhms: named?.internalOhms })
  })
})
