import type { z } from 'zod'
import type { batchReportSchema, interruptedSchema, writeMethods } from '../../../shared/api/write.ts'
import type { AppClient } from '../../api/client.ts'

/** What the programmer's side says to the machine. */
export type ProgramClient = AppClient

export type Interrupted = z.infer<typeof interruptedSchema>
export type BatchReport = z.infer<typeof batchReportSchema>
export type WriteCheck = z.infer<(typeof writeMethods)['write.check']['reply']>
export type WriteRecovery = z.infer<(typeof writeMethods)['write.recover']['reply']>
