import type { SymptomId } from '../../../shared/diagnose/report.ts'
import { isOneOf } from '../../../shared/logbook/finding-of.ts'
import type { Runbook } from '../../../shared/runbook/schema.ts'
import { type Looks, withLooks } from '../../diagnose/looks.ts'
import { type Asked, freshAsked, type KeptDiagnosis } from '../../diagnose/use-diagnosis.ts'
import type { Advice } from './run-desk.ts'

/**
 * The diagnosis with all that the run knows: receiver, route, image, what is seen, and the facts. One of the same
 * trouble that was begun before is gone on with: what was looked at later stands, there or in the run.
 */
export function askedOf(
  { receiver, route, image }: Runbook,
  symptom: SymptomId,
  looks: Looks,
  before: Asked | undefined,
): Asked {
  const isSame =
    before?.receiverId === receiver.id && before.symptom === symptom && before.helped === undefined
  const asked = isSame ? before : freshAsked(receiver.id)
  return {
    ...asked,
    ...withLooks(asked, looks, 'you'),
    symptom,
    route,
    imageId: image.benchId ?? asked.imageId,
  }
}

/** The repair that Diagnose advises for this very trouble; nothing where it asks on, or was told already what it was. */
export function adviceOf(
  kept: KeptDiagnosis['current'],
  receiverId: string,
  symptom: SymptomId | undefined,
): Advice | undefined {
  const { asked, diagnosis } = kept ?? {}
  if (asked?.receiverId !== receiverId || asked.symptom !== symptom || asked.helped !== undefined)
    return undefined
  if (diagnosis === undefined || diagnosis.next.do !== 'repair') return undefined
  const { members } = diagnosis.next
  return {
    causes: members,
    isOneOf: isOneOf(diagnosis, members),
    answers: asked.answers,
    tried: asked.tried.flatMap(one => one.ids),
  }
}
