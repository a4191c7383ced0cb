import type { SymptomId } from '../../../shared/diagnose/report.ts'
import type { Runbook } from '../../../shared/runbook/schema.ts'
import type { RunState } from '../../../shared/runbook/state.ts'
import { type Asked, freshAsked } from '../../diagnose/use-diagnosis.ts'

/**
 * The diagnosis with all that the run knows: receiver, route, image, what is seen, and the facts. One of the same
 * trouble that was begun before is gone on with; what the person has answered there stands.
 */
export function askedOf(
  { receiver, route, image }: Runbook,
  symptom: SymptomId,
  facts: RunState['facts'],
  before: Asked | undefined,
): Asked {
  const isSame =
    before?.receiverId === receiver.id && before.symptom === symptom && before.helped === undefined
  const asked = isSame ? before : freshAsked(receiver.id)
  return {
    ...asked,
    symptom,
    route,
    imageId: image.benchId ?? asked.imageId,
    answers: { ...facts, ...asked.answers },
  }
}
