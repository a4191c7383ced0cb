import { describe, expect, it } from 'vitest'
import type { During, Simulate } from '../../main/work/simulate.ts'
import { simulations } from '../../main/work/simulations.ts'
import { type Wait, warmable, whenQuiet } from '../../main/work/warm.ts'
import type { Outcome } from '../../shared/api/define.ts'
import { smallRequest } from '../support/small-bench.ts'

/** Simulates for real, and notes who asked. */
function noting() {
  const simulate = simulations()
  const asked: { readonly seed: unknown; readonly during: During | undefined }[] = []
  const noted: Simulate = async (kind, ask, during) => {
    asked.push({ seed: 'seed' in ask ? ask.seed : undefined, during })
    return simulate(kind, ask)
  }
  return { noted, asked }
}

describe('warming the worker up', () => {
  it('rehearses something that can be rehearsed', async () => {
    const { noted, asked } = noting()
    const seen: unknown[] = []
    const { warm } = warmable(async (kind, ask, during) => {
      const reply = await noted(kind, ask, during)
      seen.push(reply)
      return reply
    })
    await warm()
    expect(asked).toHaveLength(1)
    expect(seen[0]).toMatchObject({ ok: true, value: { report: { outcome: 'updated' } } })
  })

  it('is broken off by whoever asks for something, and is not begun after that', async () => {
    const { noted, asked } = noting()
    const { simulate, warm } = warmable(noted)
    const warming = warm()
    expect(asked[0].during?.signal?.aborted).toBe(false)
    const reply = await simulate('rehearse', { ...smallRequest(), seed: 77 })
    expect(asked[0].during?.signal?.aborted).toBe(true)
    expect(reply.ok).toBe(true)
    // Nobody but the warming up itself is broken off.
    expect(asked[1]).toEqual({ seed: 77, during: undefined })
    await warming
    await warm()
    expect(asked).toHaveLength(2)
  })
})

/** A clock that moves when it is told to. */
function handClock() {
  const set: { then: () => void; isStopped: boolean }[] = []
  const wait: Wait = (_, then) => {
    const one = { then, isStopped: false }
    set.push(one)
    return {
      stop: () => {
        one.isStopped = true
      },
    }
  }
  return {
    wait,
    running: () => set.filter(({ isStopped }) => !isStopped).length,
    run: () => {
      for (const one of set.splice(0)) if (!one.isStopped) one.then()
    },
  }
}

describe('what is done once it is quiet', () => {
  it('waits for the first answer, for every call under way, and is done once', async () => {
    const clock = handClock()
    const open: ((outcome: Outcome) => void)[] = []
    let acts = 0
    const serve = whenQuiet(
      () => new Promise<Outcome>(resolve => open.push(resolve)),
      () => acts++,
      clock.wait,
    )
    const answer = { ok: true, reply: 1 } as const
    clock.run()
    expect(acts).toBe(0)
    const [first, second] = [serve('a', {}), serve('b', {})]
    open[0](answer)
    expect(await first).toEqual(answer)
    expect(clock.running()).toBe(0)
    open[1](answer)
    await second
    expect(clock.running()).toBe(1)
    const third = serve('c', {})
    expect(clock.running()).toBe(0)
    open[2](answer)
    await third
    clock.run()
    expect(acts).toBe(1)
    const fourth = serve('d', {})
    open[3](answer)
    await fourth
    clock.run()
    expect(acts).toBe(1)
  })
})
