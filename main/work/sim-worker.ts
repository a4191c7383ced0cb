import { type SimulationTask, simulations } from './simulations.ts'
import { buffersIn } from './trace-buffers.ts'
import { watcher } from './watcher.ts'
import { serveTasks } from './worker-loop.ts'

/** Rehearses and diagnoses, in a thread of its own. What was modelled is kept for the next question about it. */
const simulate = simulations()

serveTasks(function* ({ kind, ask }: SimulationTask, meanwhile) {
  yield simulate(kind, ask, watcher(meanwhile))
}, buffersIn)
