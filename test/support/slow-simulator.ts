import { workerData } from 'node:worker_threads'
import { type SimulationTask, simulations } from '../../main/work/simulations.ts'
import { buffersIn } from '../../main/work/trace-buffers.ts'
import { watcher } from '../../main/work/watcher.ts'
import { serveTasks } from '../../main/work/worker-loop.ts'
import { SLOW_SEED } from './slow-seed.ts'

/** The simulator itself on a slow computer, for tests of what can be done meanwhile. It counts how often it was started. */
const { started } = workerData as { readonly started?: Int32Array<SharedArrayBuffer> }
if (started !== undefined) Atomics.add(started, 0, 1)

const simulate = simulations()
const nobodyWakes = new Int32Array(new SharedArrayBuffer(4))

serveTasks(function* ({ kind, ask }: SimulationTask, meanwhile) {
  const watch = watcher(meanwhile)
  const isSlow = 'seed' in ask && ask.seed === SLOW_SEED
  yield simulate(kind, ask, (part, moment) => {
    if (isSlow) Atomics.wait(nobodyWakes, 0, 0, 5)
    watch(part, moment)
  })
}, buffersIn)
