import { carryOut } from './tasks.ts'
import { serveTasks } from './worker-loop.ts'

/** Reads what comes from outside, in a thread of its own. */
serveTasks(carryOut)
