import { describe, expect, it } from 'vitest'
import {
  EagerListening,
  LOOK_MS,
  MOST_IN_VAIN,
  STAY_FIRST,
  STAY_MOST,
} from '../../main/serial/eager-listening.ts'

interface Answers {
  /** When it comes if it is looked for. */
  readonly lookedForMs: number
  /** When it is heard of if it is not. */
  readonly sleptMs: number
}

/** Each look takes 10 µs. */
function bench(latencyMs: number) {
  let nowMs = 0
  let spentMs = 0
  const eager = new EagerListening(latencyMs, () => nowMs)
  return {
    spentMs: () => spentMs,
    /** @returns whether it was looked for */
    turn({ lookedForMs, sleptMs }: Answers): boolean {
      const fromMs = nowMs
      const hit = eager.look(() => {
        nowMs += 0.01
        return nowMs - fromMs >= lookedForMs
      })
      const hasLooked = nowMs > fromMs
      spentMs += nowMs - fromMs
      if (!hit) nowMs = fromMs + Math.max(nowMs - fromMs, hasLooked ? lookedForMs : sleptMs)
      eager.heard()
      nowMs += 0.02
      return hasLooked
    },
  }
}

type Bench = ReturnType<typeof bench>

function share(of: Bench, answers: Answers, turns: number): number {
  let looked = 0
  for (let i = 0; i < turns; i++) if (of.turn(answers)) looked++
  return looked / turns
}

const quick = { lookedForMs: 0.06, sleptMs: 0.11 }
/** Whoever answers needs the processor that looking takes from it. */
const kept = { lookedForMs: 0.15, sleptMs: 0.11 }
const slow = { lookedForMs: 10, sleptMs: 10 }

describe('looking for an answer for a moment', () => {
  it('is done where that is faster, nearly all the time', () => {
    expect(share(bench(0), quick, 10_000)).toBeGreaterThan(0.95)
  })

  it('is not where sleeping is faster, though a look would find the answer', () => {
    expect(share(bench(0), kept, 10_000)).toBeLessThan(0.05)
  })

  it('is never done where an adapter holds answers back', () => {
    const here = bench(1)
    expect(share(here, { lookedForMs: 0, sleptMs: 0 }, 100)).toBe(0)
    expect(here.spentMs()).toBe(0)
  })

  it('is given up where answers take longer: ten thousand of them cost no more than six milliseconds', () => {
    const here = bench(0)
    share(here, slow, 10_000)
    expect(here.spentMs()).toBeLessThan(28 * (LOOK_MS + 0.01))
  })

  it('is not held on to when answers become slow', () => {
    const here = bench(0)
    share(here, quick, 1000)
    expect(share(here, slow, 1000) * 1000).toBeLessThanOrEqual(6 * MOST_IN_VAIN)
  })

  it('is found to be worth it again where answers become fast', () => {
    const here = bench(0)
    share(here, slow, 100)
    share(here, quick, 4 * STAY_FIRST)
    expect(share(here, quick, 1000)).toBeGreaterThan(0.9)
  })

  it('is tried again even after a long time', () => {
    const here = bench(0)
    share(here, slow, 20 * STAY_MOST)
    share(here, quick, STAY_MOST + 100)
    expect(share(here, quick, 1000)).toBeGreaterThan(0.9)
  })

  it('takes nothing for an answer that was not waited for', () => {
    const eager = new EagerListening(0, () => 0)
    expect(() => eager.heard()).not.toThrow()
  })
})
