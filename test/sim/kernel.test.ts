import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Actor, Kernel, msToNs } from '../../shared/sim/kernel.ts'

class Listener implements Actor {
  readonly woken: { atNs: number; code: number; argument: number }[] = []
  private readonly kernel: Kernel
  constructor(kernel: Kernel) {
    this.kernel = kernel
  }
  wake(code: number, argument: number): void {
    this.woken.push({ atNs: this.kernel.nowNs, code, argument })
  }
}

const runOut = (kernel: Kernel) => {
  while (kernel.step());
}

describe('order', () => {
  it('is by time, and among equal times by order of scheduling: the same as a stable sort', () => {
    fc.assert(
      fc.property(fc.array(fc.nat(30), { maxLength: 400 }), times => {
        const kernel = new Kernel()
        const listener = new Listener(kernel)
        times.forEach((time, i) => kernel.at(time, listener, i, time * 3))
        runOut(kernel)
        const expected = times.map((atNs, code) => ({ atNs, code, argument: atNs * 3 }))
        expect(listener.woken).toEqual(expected.sort((a, b) => a.atNs - b.atNs))
      }),
    )
  })

  it('holds while events schedule events, against a sorted list as model', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(20), fc.nat(20)), { maxLength: 150 }), plan => {
        const kernel = new Kernel()
        const seen: number[] = []
        const model: { at: number; order: number; id: number }[] = []
        let order = 0
        const schedule = (at: number, id: number) => {
          kernel.at(at, actor, id)
          model.push({ at, order: order++, id })
        }
        const actor: Actor = {
          wake: id => {
            seen.push(id)
            const next = model.sort((a, b) => a.at - b.at || a.order - b.order).shift()
            expect(next?.id).toBe(id)
            if (id < plan.length) schedule(kernel.nowNs + plan[id][1], id + 1000)
          },
        }
        plan.forEach(([at], id) => schedule(at, id))
        runOut(kernel)
        expect(seen).toHaveLength(2 * plan.length)
      }),
      { numRuns: 60 },
    )
  })
})

describe('time', () => {
  it('never goes back', () => {
    const kernel = new Kernel()
    const listener = new Listener(kernel)
    kernel.runTo(100)
    expect(() => kernel.at(99, listener, 0)).toThrow('before now')
    kernel.at(100, listener, 1)
    kernel.runTo(50)
    expect(kernel.nowNs).toBe(100)
    expect(listener.woken).toEqual([])
    kernel.runTo(100)
    expect(listener.woken).toEqual([{ atNs: 100, code: 1, argument: 0 }])
  })

  it('runTo takes in what lies at its end, and nothing later', () => {
    const kernel = new Kernel()
    const listener = new Listener(kernel)
    for (const at of [10, 20, 21]) kernel.at(at, listener, at)
    kernel.runTo(20)
    expect(listener.woken.map(w => w.code)).toEqual([10, 20])
    expect(kernel.nextNs).toBe(21)
    runOut(kernel)
    expect(kernel.nextNs).toBe(Number.POSITIVE_INFINITY)
    expect(kernel.step()).toBe(false)
  })

  it('is in whole nanoseconds', () => {
    expect(msToNs(1.0000004)).toBe(1_000_000)
    expect(msToNs(0.0000006)).toBe(1)
  })
})
