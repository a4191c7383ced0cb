import type { LaneReport, WriteEnding } from '../../../shared/bench-run/lane.ts'
import { symptomSchema } from '../../../shared/diagnose/report.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { type Asked, freshAsked } from '../../diagnose/use-diagnosis.ts'

/** The image of the bench that was written, if it is one of the bench. */
export const imageIdOf = (
  bench: Bench | undefined,
  { name, version }: LaneReport['image'],
): string | undefined => bench?.images.find(image => image.name === name && image.version === version)?.id

/** The diagnosis with what a write has shown; one of the same trouble that was begun before is gone on with. */
export function askedAfterWrite(
  receiverId: string,
  { symptom, answers }: NonNullable<WriteEnding['diagnosis']>,
  before: Asked | undefined,
  imageId?: string,
): Asked {
  const known = symptomSchema.safeParse(symptom)
  const seen = known.success ? known.data : undefined
  const isSame = before?.receiverId === receiverId && before.symptom === seen && before.helped === undefined
  const asked = isSame ? before : freshAsked(receiverId)
  return {
    ...asked,
    symptom: seen ?? asked.symptom,
    route: 'cable',
    imageId: imageId ?? asked.imageId,
    answers: { ...answers, ...asked.answers },
  }
}
