import type { Diagnosis } from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'
import { isOneOf } from '../../shared/logbook/finding-of.ts'
import { type Looked, NOTHING_LOOKED } from './looks.ts'
import { answerWords, list, routeWords } from './words.ts'

/** What is told once a repair has helped. */
export interface Summary {
  readonly receiver: string
  readonly symptom: string
  readonly route: string
  readonly causes: readonly {
    readonly label: string
    readonly mechanism: string
    readonly repair: string
    readonly caution: string | null
  }[]
  /** Several were put right at once, of which one was the reason. */
  readonly isOneOf: boolean
  readonly asked: readonly { readonly question: string; readonly answer: string; readonly from: string }[]
  readonly tried: readonly string[]
}

export const BEFORE_FLIGHT =
  'Before the next flight: set and check the failsafe, and make a range check, propeller or rotor off.'

/**
 * @param found the causes that were put right at last
 * @param looked what the write has seen by itself, and where person and write saw the opposite
 */
export function summaryOf(
  diagnosis: Diagnosis,
  found: readonly string[],
  triedLabels: readonly string[],
  { seenByWrite, otherwise }: Pick<Looked, 'seenByWrite' | 'otherwise'> = NOTHING_LOOKED,
): Summary {
  const { symptom, route, receiver, causes, facts } = diagnosis
  const members = found.flatMap(id => {
    const holder = causes.find(c => c.members.some(m => m.id === id))
    const member = holder?.members.find(m => m.id === id)
    const remedy = holder?.remedies.find(r => r.cause === id)
    if (member === undefined || remedy === undefined) return []
    const { label, mechanism } = member
    return [{ label, mechanism, repair: remedy.label, caution: remedy.caution }]
  })
  return {
    receiver: receiver.nickname,
    symptom: symptomWords[symptom].label,
    route: routeWords[route],
    causes: members,
    isOneOf: isOneOf(diagnosis, found),
    asked: facts.flatMap(({ id, question, answer, from }) => {
      if (answer === null) return []
      const isDisputed = otherwise[id] !== undefined
      const byPerson = isDisputed ? 'by you; before, the write saw the opposite' : 'by you'
      const byWrite = isDisputed ? 'seen by the write; before, you said the opposite' : 'seen by the write'
      const looked = seenByWrite.includes(id) ? byWrite : byPerson
      return [{ question, answer: answerWords[answer], from: from === 'bench' ? 'from the bench' : looked }]
    }),
    tried: triedLabels,
  }
}

export const headingOf = ({ causes, isOneOf }: Summary): string =>
  isOneOf
    ? `It was one of these: ${causes.map(c => c.label).join('; ')}`
    : `It was: ${list(causes.map(c => c.label))}`

/** The summary as plain text, to paste wherever it is kept. */
export function summaryText(s: Summary): string {
  const lines = [
    `Diagnosis: ${s.receiver}`,
    `Seen: ${s.symptom} (${s.route.toLowerCase()}).`,
    `${headingOf(s)}.`,
    ...s.causes.flatMap(c => [c.mechanism, `Repair: ${c.repair}`]),
    ...(s.tried.length === 0 ? [] : [`Tried before, without effect: ${list(s.tried)}.`]),
    ...(s.asked.length === 0 ? [] : ['', 'Asked on the way:']),
    ...s.asked.map(a => `- ${a.question} ${a.answer} (${a.from}).`),
    '',
    BEFORE_FLIGHT,
  ]
  return `${lines.join('\n')}\n`
}
