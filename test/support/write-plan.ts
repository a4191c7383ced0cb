import type { WritePlan } from '../../shared/bench-run/plan.ts'
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
