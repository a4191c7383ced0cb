import { describe, expect, it } from 'vitest'
import { sumMs, timesOf } from '../../shared/runbook/durations.ts'
import type { Phase, PhaseId } from '../../shared/sim/trace.ts'

const phase = (id: PhaseId, startMs: number, endMs: number, attempt = 1): Phase => ({
  id,
  startNs: startMs * 1e6,
  endNs: endMs * 1e6,
  attempt,
  ended: 'done',
})

describe('the times of a rehearsal', () => {
  it('lose nothing between phases, before the first, or after the last', () => {
    const { card, attempts, pausesMs } = timesOf(
      [phase('stage', 10, 100), phase('check', 120, 130), phase('enter', 130, 150), phase('write', 160, 400)],
      410,
    )
    expect(sumMs(card)).toBe(120)
    expect(attempts).toHaveLength(1)
    expect(attempts[0].start.map(p => p.ms)).toEqual([10, 30])
    expect(attempts[0].watch.map(p => p.ms)).toEqual([250])
    expect(pausesMs).toEqual([])
  })

  it('tell two attempts apart, and the pause between them', () => {
    const { attempts, pausesMs } = timesOf(
      [
        phase('check', 0, 10),
        phase('enter', 10, 50),
        phase('check', 2550, 2560, 2),
        phase('write', 2560, 3000, 2),
      ],
      3000,
    )
    expect(sumMs(attempts[0].start)).toBe(50)
    expect(pausesMs).toEqual([2500])
    expect(sumMs([...attempts[1].start, ...attempts[1].watch])).toBe(450)
    expect(attempts[1].watch[0].words).toBe('Write')
  })
})
