import type { ReceiverUnit } from './gear.ts'
import type { Problem } from './problem.ts'

/** What is said where a receiver's type is needed and nobody knows it. */
export const typeNotKnown = ({ id, nickname }: Pick<ReceiverUnit, 'id' | 'nickname'>): Problem => ({
  code: 'receiver.type-not-known',
  field: 'receiver',
  message: `The type of “${nickname}” is not known yet, and without it nobody can say what an image would do to it.`,
  remedy: `Answer the questions about it in the Firmware view, or ask for them with: fit --receiver ${id}`,
})
