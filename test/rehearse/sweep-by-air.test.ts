import { expect, it } from 'vitest'
import { sweepCuts } from '../../shared/rehearse/sweep.ts'
import { smallRequest } from '../support/small-bench.ts'

// A file of its own, so that it runs beside the sweep by cable.
it('by air: cut at every effect and every flash operation, all come back', () => {
  const swept = sweepCuts(smallRequest({ route: 'wireless', seed: 7 }))
  if (!swept.ok) throw new Error(swept.problems[0].message)
  const { sessions, effects, flashOperations, outcomes, failures } = swept.value
  expect(sessions).toBe(effects + 3 * flashOperations)
  expect(failures).toEqual([])
  expect(outcomes.destroyed + outcomes['needs-boot-rom']).toBe(0)
  expect(outcomes.unchanged).toBeGreaterThan(10)
  expect(outcomes['needs-cable']).toBeGreaterThan(100)
  expect(outcomes.updated).toBeGreaterThan(3)
}, 60_000)
