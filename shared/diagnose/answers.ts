import type { Answer } from './report.ts'

/** What somebody has answered, as a `DiagnosisRequest` takes it. */
export interface Answered {
  readonly answers: Readonly<Record<string, Answer>>
  readonly confirmed: readonly string[]
}

/**
 * One answer more. The same answer at a second look confirms the first; another one leaves the fact open, since one of
 * both is wrong and nobody knows which: it may be asked a third time. What somebody sees goes before what the bench
 * says.
 * @param before the answer that stood, the bench's own among them; null or undefined where there was none
 */
export function answered(
  known: Answered,
  factId: string,
  answer: Answer,
  before: Answer | null | undefined = known.answers[factId],
): Answered {
  const { [factId]: _, ...others } = known.answers
  const confirmed = known.confirmed.filter(id => id !== factId)
  const wasLookedAt = before === 'yes' || before === 'no'
  if (!wasLookedAt || answer === 'cannot-check')
    return { answers: { ...others, [factId]: answer }, confirmed }
  if (before === answer)
    return { answers: { ...others, [factId]: answer }, confirmed: [...confirmed, factId] }
  const isOwn = factId in known.answers
  return { answers: isOwn ? others : { ...others, [factId]: answer }, confirmed }
}

/** An answer given anew, or taken back where it is undefined; whatever was confirmed of it is no longer. */
export function overruled(known: Answered, factId: string, answer: Answer | undefined): Answered {
  const { [factId]: _, ...others } = known.answers
  return {
    answers: answer === undefined ? others : { ...others, [factId]: answer },
    confirmed: known.confirmed.filter(id => id !== factId),
  }
}
