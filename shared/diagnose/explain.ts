import type { RuleId } from '../fit/rule-ids.ts'
import type { Cause } from './causes.ts'
import type { SymptomModel } from './model.ts'
import type { FactReport } from './report.ts'
import { symptomWords } from './words.ts'

/** Why it is this, in sentences for a person: mechanism, rule, what was seen, and what would have been seen otherwise. */

/** Of causes that are told, what is needed to say why they are looked for. */
export interface Told {
  readonly members: readonly { readonly id: string; readonly label: string }[]
  readonly likelihood: number
}

const MOST_FACTS = 4
const list = (words: readonly string[]): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words[words.length - 1]}`
const quoted = (fact: FactReport): string => `“${fact.question}”`
const isRead = (fact: FactReport) => fact.answer === 'yes' || fact.answer === 'no'
const unsoundAnswer = (fact: FactReport) => (fact.sound === 'yes' ? 'no' : 'yes')

/** @param claimOf what the bench finds by a rule, or what the rule claims */
export function explain(
  model: SymptomModel,
  members: readonly Cause[],
  facts: readonly FactReport[],
  doubts: readonly string[],
  claimOf: (rule: RuleId) => string,
): string[] {
  const shows = new Map(model.facts.map(({ spec, shows: ids }) => [spec.id, ids]))
  const predicts = (fact: FactReport) => members.some(({ id }) => shows.get(fact.id)?.includes(id))
  const explaining = members.filter(({ id }) => model.shows.includes(id))
  const said = explaining.map(
    ({ mechanism }) =>
      `${mechanism} Rehearsed so, ${symptomWords[model.symptom].sentence}: that is what was seen.`,
  )
  for (const { id, rule, mechanism } of members) {
    if (!model.shows.includes(id)) said.push(mechanism)
    if (rule !== undefined) said.push(`The rule behind it: ${claimOf(rule)}`)
  }
  const answered = facts.filter(fact => isRead(fact) && !doubts.includes(fact.id))
  const speaking = answered.filter(fact => fact.answer === unsoundAnswer(fact) && predicts(fact))
  if (speaking.length > 0)
    said.push(`It explains the answer to ${list(speaking.slice(0, MOST_FACTS).map(quoted))}.`)
  const agreeing = answered.filter(fact => fact.answer === fact.sound && !predicts(fact))
  if (agreeing.length > 0)
    said.push(
      `It leaves untouched what was found in order: ${list(agreeing.slice(0, MOST_FACTS).map(quoted))}.`,
    )
  const open = facts.find(fact => !isRead(fact) && predicts(fact))
  if (open)
    said.push(
      `If it is this, the answer to ${quoted(open)} is ${unsoundAnswer(open)}; otherwise it would be ${open.sound}.`,
    )
  const misread = facts.filter(fact => doubts.includes(fact.id))
  if (misread.length > 0)
    said.push(`It can only be this if ${list(misread.map(quoted))} was answered wrongly: look again.`)
  return said
}

/** What a look would decide between. */
export function whyLook(
  model: SymptomModel,
  factId: string,
  causes: readonly Told[],
  savesMinutes: number,
  again = false,
): string {
  const shows = new Set(model.facts.find(fact => fact.spec.id === factId)?.shows)
  const side = (wanted: boolean) =>
    causes
      .filter(({ members }) => members.some(m => shows.has(m.id)) === wanted)
      .slice(0, 2)
      .map(({ members }) => list(members.map(m => `“${m.label}”`)))
  const [here, there] = [side(true), side(false)]
  const saves =
    savesMinutes >= 1
      ? ` It saves about ${Math.round(savesMinutes)} ${Math.round(savesMinutes) === 1 ? 'minute' : 'minutes'} against trying repairs.`
      : ''
  if (again) return `It was answered before, but much hangs on it, and a slip there is possible.${saves}`
  if (here.length === 0 || there.length === 0) return `It tells most for its cost.${saves}`
  return `It tells ${here.join(' or ')} from ${there.join(' or ')}.${saves}`
}

/**
 * Why there is nothing to do at this table.
 * @param putOff ids of causes that cannot be put right now
 */
export function whyAsk(causes: readonly Told[], putOff: ReadonlySet<string>): string {
  const waiting = causes.flatMap(({ members }) => members.filter(m => putOff.has(m.id)))
  const labels = [...new Set(waiting.map(m => `“${m.label}”`))]
  if (labels.length === 0)
    return 'Nothing that is known here explains what was seen. Look at the answers again: one of them may be wrong; else ask the maker or a workshop.'
  return `What may well be the reason cannot be put right now: ${list(labels)}. Nothing else that can be done is likely enough to be worth it. Take it back as soon as it can be done.`
}

/** Why repair now. */
export function whyRepair(ids: readonly string[], causes: readonly Told[]): string {
  const set = causes.find(
    ({ members }) => members.length === ids.length && members.every(m => ids.includes(m.id)),
  )
  const percent = set === undefined ? undefined : Math.round(set.likelihood * 100)
  const how =
    percent === undefined || percent < 1 ? '' : ` It is the reason with a likelihood of ${percent} %.`
  return `Trying this costs less than looking further.${how}`
}
