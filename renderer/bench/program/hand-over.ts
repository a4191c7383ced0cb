import type { LaneReport, WriteEnding } from '../../../shared/bench-run/lane.ts'
import { symptomSchema } from '../../../shared/diagnose/report.ts'
import { timeOfId } from '../../../shared/logbook/session-id.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { withLooks } from '../../diagnose/looks.ts'
import { type Asked, freshAsked, type KeptDiagnosis } from '../../diagnose/use-diagnosis.ts'
import { adviceOf } from '../guide/hand-over.ts'
import type { Advice } from '../guide/run-desk.ts'

/** The image of the bench that was written, if it is one of the bench. */
export const imageIdOf = (
  bench: Bench | undefined,
  { name, version }: LaneReport['image'],
): string | undefined => bench?.images.find(image => image.name === name && image.version === version)?.id

/**
 * The diagnosis with what a write has shown; one of the same trouble that was begun before is gone on with. The later
 * look is believed, as of `Looked`.
 */
export function askedAfterWrite(
  receiverId: string,
  { symptom, answers }: NonNullable<WriteEnding['diagnosis']>,
  before: Asked | undefined,
  imageId?: string,
  sessionId?: string,
): Asked {
  const known = symptomSchema.safeParse(symptom)
  const seen = known.success ? known.data : undefined
  const isSame = before?.receiverId === receiverId && before.symptom === seen && before.helped === undefined
  const asked = isSame ? before : freshAsked(receiverId)
  // A session without an id was never written down; it has only just ended.
  const atMs = (sessionId === undefined ? undefined : timeOfId(sessionId)) ?? Date.now()
  const looks = Object.fromEntries(Object.entries(answers).map(([id, answer]) => [id, { answer, atMs }]))
  return {
    ...asked,
    ...withLooks(asked, looks, 'write'),
    symptom: seen ?? asked.symptom,
    route: 'cable',
    imageId: imageId ?? asked.imageId,
    fromWrite: sessionId ?? asked.fromWrite,
  }
}

/**
 * What Diagnose had advised after an earlier write of this receiver failed, once a later one has gone through; undefined
 * where nothing is to be asked. Sessions sort by their ids as by time.
 */
export function adviceAfterWrite(
  kept: KeptDiagnosis['current'],
  { receiver, sessionId, end }: Pick<LaneReport, 'receiver' | 'sessionId' | 'end'>,
): Advice | undefined {
  const failed = kept?.asked.fromWrite
  if (receiver === null || sessionId === null || failed === undefined || sessionId <= failed) return undefined
  return end?.outcome === 'updated' ? adviceOf(kept, receiver.id, kept?.asked.symptom) : undefined
}
