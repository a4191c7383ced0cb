import type { z } from 'zod'
import type { Client } from '../../../shared/api/client.ts'
import type { AppContract } from '../../../shared/api/contract.ts'
import type { dialectsEvents, dialectsMethods } from '../../../shared/api/dialects.ts'
import type {
  batchReportSchema,
  interruptedSchema,
  writeEvents,
  writeMethods,
} from '../../../shared/api/write.ts'

/** What the programmer's side says to the machine. */
interface ProgramContract {
  readonly methods: AppContract['methods'] & typeof writeMethods & typeof dialectsMethods
  readonly events: AppContract['events'] & typeof writeEvents & typeof dialectsEvents
}
export type ProgramClient = Client<ProgramContract>

export type Interrupted = z.infer<typeof interruptedSchema>
export type BatchReport = z.infer<typeof batchReportSchema>
export type WriteCheck = z.infer<(typeof writeMethods)['write.check']['reply']>
export type WriteRecovery = z.infer<(typeof writeMethods)['write.recover']['reply']>
