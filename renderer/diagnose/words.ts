import type {
  Answer,
  CauseSetReport,
  Diagnosis,
  FactReport,
  SymptomId,
} from '../../shared/diagnose/report.ts'
import type { Route } from '../../shared/model/units.ts'

export const answerWords: Readonly<Record<Answer, string>> = {
  yes: 'Yes',
  no: 'No',
  'cannot-check': 'Can’t check',
}
export const ANSWERS: readonly Answer[] = ['yes', 'no', 'cannot-check']

export const routeWords: Readonly<Record<Route, string>> = { cable: 'By cable', wireless: 'Wireless' }

/** The symptoms by the moment at which they are seen. */
export const symptomGroups: readonly { readonly title: string; readonly symptoms: readonly SymptomId[] }[] = [
  {
    title: 'Before it starts',
    symptoms: ['not-offered', 'not-found', 'no-answer', 'card-not-seen', 'dead'],
  },
  { title: 'While it writes', symptoms: ['write-refused', 'stops', 'verify-fails'] },
  { title: 'After the update', symptoms: ['no-bind', 'no-telemetry', 'short-range'] },
]

export const list = (words: readonly string[]): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`

export const minuteWords = (minutes: number): string =>
  minutes === 1 ? '1 minute' : `${Math.round(minutes)} minutes`

/** A likelihood for people: whole per cent, and nothing is certain but what can be nothing else. */
export function percentWords(likelihood: number): string {
  const percent = Math.round(likelihood * 100)
  if (percent < 1) return 'below 1 %'
  return `${percent === 100 && likelihood < 0.9999 ? 99 : percent} %`
}

/** What of the logbook has changed the odds of what is possible here; nothing where nothing has. */
export function countedWords({ counted, secondTries }: Pick<Diagnosis, 'counted' | 'secondTries'>): string {
  const found = counted === 0 ? [] : [`${counted} ${counted === 1 ? 'find' : 'finds'} of what can cause this`]
  const healed =
    secondTries === 0
      ? []
      : [
          `${secondTries} ${secondTries === 1 ? 'update' : 'updates'} that went through at the second attempt by ${secondTries === 1 ? 'itself' : 'themselves'}`,
        ]
  const all = [...found, ...healed]
  if (all.length === 0) return ''
  return `Your own logbook counts ${list(all)}; ${counted + secondTries === 1 ? 'it has' : 'they have'} changed the odds.`
}

export const causeName = ({ members }: Pick<CauseSetReport, 'members'>): string =>
  list(members.map((m, i) => (i === 0 ? m.label : m.label.charAt(0).toLowerCase() + m.label.slice(1))))

/**
 * Facts where they belong: what is asked now, what is answered, what is open.
 * @param seenByWrite those that a write has seen by itself
 */
export function sortFacts(
  facts: readonly FactReport[],
  nextId: string | undefined,
  seenByWrite: readonly string[] = [],
) {
  const isSeen = ({ id }: FactReport) => seenByWrite.includes(id)
  const rest = facts.filter(fact => fact.id !== nextId)
  return {
    next: facts.find(fact => fact.id === nextId),
    byYou: rest.filter(fact => fact.from === 'you' && !isSeen(fact)),
    byWrite: rest.filter(fact => fact.from === 'you' && isSeen(fact)),
    byBench: rest.filter(fact => fact.from === 'bench'),
    open: rest.filter(fact => fact.answer === null),
  }
}

/** Where a write and the person saw the opposite, the later look stands; said at the fact. */
export const disputeWords = (isSeenByWrite: boolean): string =>
  isSeenByWrite
    ? 'You had answered the opposite. The write saw this later, so it counts. Look again if you doubt it.'
    : 'The write saw the opposite. You looked later, so your answer counts. Look again if you doubt it.'

/** Where an answer comes from, and what the bench would say. */
export function sourceWords({ answer, from, benchSays }: FactReport, isSeenByWrite = false): string {
  const bench = benchSays === null ? '' : `the bench says ${benchSays}`
  if (answer === null) return bench === '' ? '' : `As written down, ${bench}; look to be sure.`
  if (from === 'bench' || bench === '' || benchSays === answer) return ''
  return isSeenByWrite
    ? `The write saw it otherwise than the bench, which says ${benchSays}.`
    : `You overrule the bench, which says ${benchSays}.`
}
