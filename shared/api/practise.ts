import { exerciseSchema, practiceRequestSchema } from '../diagnose/exercise.ts'

/** Practice: finding what is hidden on a simulated table. */
export const practiseMethods = {
  /** The exercise as it stands after these steps. */
  'practise.run': { request: practiceRequestSchema, reply: exerciseSchema },
} as const
