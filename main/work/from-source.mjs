/** Starts a worker that is written in TypeScript; only where Preflash runs from source. */
import { workerData } from 'node:worker_threads'
import { register } from 'tsx/esm/api'

register()
await import(workerData.script)
