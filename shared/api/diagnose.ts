import { diagnosisRequestSchema, diagnosisSchema } from '../diagnose/report.ts'

/** What the window asks about an update that does not work. */
export const diagnoseMethods = {
  /** The whole diagnosis after each answer: it is quick, and nothing has to be kept on the other side. */
  'diagnose.run': { request: diagnosisRequestSchema, reply: diagnosisSchema },
} as const
