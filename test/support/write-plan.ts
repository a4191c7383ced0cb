import { builtInChosen } from '../../shared/bench-run/chosen.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { type PlannedWrite, planWrite } from '../../shared/bench-run/ready.ts'
import { smallBench } from './small-bench.ts'

/** The small bench's Wren through the bench programmer, wired as it should be. */
export const writePlan = (change: Partial<WritePlan> = {}): WritePlan => ({
  bench: smallBench(),
  receiverId: 'wren-trainer',
  image: { kind: 'bench', imageId: 'wren-6-2.4.0' },
  dropOutside: false,
  dialect: 'preflash-bus',
  port: '/dev/ttyUSB0',
  adapterId: 'bench-programmer',
  cableId: 'programmer-cable',
  feed: 'through-cable',
  expect: {},
  ...change,
})

export function planned(change: Partial<WritePlan> = {}): PlannedWrite {
  const plan = writePlan(change)
  const chosen = builtInChosen(plan.dialect)
  if (chosen === undefined) throw new Error('no such dialect')
  const made = planWrite(plan, chosen)
  if (!made.ok) throw new Error(made.problems[0].message)
  return made.value
}
