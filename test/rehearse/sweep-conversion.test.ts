import { describe, expect, it } from 'vitest'
import { sweepCuts } from '../../shared/rehearse/sweep.ts'
import { convertingRequest } from '../support/small-bench.ts'

describe('a conversion that replaces the boot loader', () => {
  it("cut anywhere comes back: where the boot loader is damaged, through the chip's own loader", () => {
    const swept = sweepCuts(convertingRequest())
    if (!swept.ok) throw new Error(swept.problems[0].message)
    const { sessions, effects, flashOperations, outcomes, failures } = swept.value
    expect(sessions).toBe(effects + 3 * flashOperations)
    expect(failures).toEqual([])
    expect(outcomes.destroyed).toBe(0)
    // 8 pages of boot loader, each erased and written. Whole again only after the last write: its end, or a cut
    // right after it; whole still before the first erase has begun.
    expect(outcomes['needs-boot-rom']).toBe(3 * 16 - 2)
    expect(outcomes['needs-cable']).toBeGreaterThan(50)
  }, 60_000)
})
