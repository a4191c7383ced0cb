import { CAUSES, findCause } from '../../shared/diagnose/causes.ts'
import { FACTS } from '../../shared/diagnose/facts.ts'
import {
  type CauseSetReport,
  type Diagnosis,
  type FactReport,
  type NextStep,
  SYMPTOMS,
} from '../../shared/diagnose/report.ts'
import { symptomWords } from '../../shared/diagnose/words.ts'

/** The words of `diagnose`, one paragraph a string. */

const MOST_NAMED = 5

export function listing() {
  return {
    symptoms: SYMPTOMS.map(name => ({ name, ...symptomWords[name] })),
    facts: FACTS.map(({ id, question, sound, look, minutes, tools, risk, misread, routes, by }) => ({
      id,
      question,
      sound,
      look,
      minutes,
      tools,
      risk: risk ?? null,
      misread,
      routes,
      rule: by.kind === 'rule' ? by.rule : null,
    })),
    causes: CAUSES.map(({ id, label, mechanism, part, routes, perThousand, rule, repair }) => ({
      id,
      label,
      mechanism,
      part,
      routes,
      perThousand,
      rule: rule ?? null,
      remedy: { ...repair, caution: repair.caution ?? null },
    })),
  }
}

export function listingText(): string {
  const widest = Math.max(
    ...[...SYMPTOMS, ...FACTS.map(f => f.id), ...CAUSES.map(c => c.id)].map(id => id.length),
  )
  const row = (id: string, routes: readonly string[], text: string) =>
    `  ${id.padEnd(widest)}  ${routes.join(', ').padEnd(15)}  ${text}`
  return [
    'Symptoms (--symptom)',
    ...SYMPTOMS.map(id => row(id, symptomWords[id].routes, symptomWords[id].label)),
    'Facts (--fact NAME=yes, no or cannot-check)',
    ...FACTS.map(f => row(f.id, f.routes, f.question)),
    'Causes (--tried NAME, --put-off NAME)',
    ...CAUSES.map(c => row(c.id, c.routes, c.label)),
    '',
  ].join('\n')
}

export const percent = (likelihood: number): string => {
  const whole = Math.round(likelihood * 100)
  return whole < 1 ? 'under 1 %' : whole > 99 && likelihood < 1 ? 'over 99 %' : `${whole} %`
}
export const minutes = (count: number): string => `${count} ${count === 1 ? 'minute' : 'minutes'}`

const labelOf = ({ members }: CauseSetReport): string => members.map(m => m.label).join('; and: ')

export function causeLine(cause: CauseSetReport): string {
  return `  - ${labelOf(cause)} (${percent(cause.likelihood)})`
}

function repairedWords({ members }: CauseSetReport): string {
  const names = members.map(m => m.id).join('+')
  return `Put right already, or not to be done now? Type helped ${names}, same ${names}, or cannot ${names}.`
}

/** Why it may be this: each likely set with its explanation. */
export function whyText({ causes, next }: Diagnosis, most: number): string[] {
  return [
    ...causes
      .slice(0, most)
      .flatMap(cause => [
        causeLine(cause),
        ...cause.explanation.map(text => `      ${text}`),
        `      ${repairedWords(cause)}`,
      ]),
    ...(causes.length > most ? [`  ${causes.length - most} more are less likely.`] : []),
    `  ${next.why}`,
  ]
}

export function factText(fact: FactReport, why: string): string[] {
  const tools = fact.tools.length > 0 ? ` You need ${fact.tools.join(', ')}.` : ''
  return [
    '',
    fact.question,
    `  How: ${fact.look} About ${minutes(fact.minutes)}.${tools}`,
    ...(fact.risk === null ? [] : [`  Caution: ${fact.risk}`]),
    `  ${why}`,
  ]
}

export function repairText({
  label,
  minutes: count,
  why,
  members,
}: Extract<NextStep, { do: 'repair' }>): string[] {
  const causes = members.flatMap(id => findCause(id) ?? [])
  const cautions = new Set(causes.flatMap(({ repair }) => repair.caution ?? []))
  return [
    '',
    `Repair: ${label} About ${minutes(count)}.`,
    `  Against: ${causes.map(c => c.label).join('; and against: ')}.`,
    ...[...cautions].map(text => `  Caution: ${text}`),
    ...(causes.some(c => !c.repair.reversible) ? ['  This cannot be undone.'] : []),
    `  ${why}`,
  ]
}

/** Ids of causes, by what became of their repair. */
export interface Repairs {
  readonly tried: readonly string[]
  readonly putOff: readonly string[]
  /** Put right last, after which it works. */
  readonly helped: readonly string[] | undefined
}

/** What has been answered, tried and found so far. */
export function stateText(diagnosis: Diagnosis, { tried, putOff, helped }: Repairs): string[] {
  const told = diagnosis.facts.filter(fact => fact.from === 'you')
  const causes = (ids: readonly string[]) => ids.map(id => `  - ${findCause(id)?.label ?? id}`)
  return [
    '',
    `What was seen: ${symptomWords[diagnosis.symptom].label}.`,
    ...(told.length > 0 ? ['Answers:', ...told.map(f => `  - ${f.question} ${answerWords(f)}`)] : []),
    ...(tried.length > 0 ? ['Put right, and it did not help:', ...causes(tried)] : []),
    ...(putOff.length > 0 ? ['Cannot be put right now:', ...causes(putOff)] : []),
    ...(helped === undefined
      ? explainedText(diagnosis)
      : ['Put right, and it works now:', ...causes(helped)]),
  ]
}

const explainedText = ({ causes }: Diagnosis): string[] =>
  causes.length > 0
    ? ['What explains it, the likeliest first:', ...causes.slice(0, MOST_NAMED).map(causeLine)]
    : ['Nothing that is known here explains it.']

/**
 * Every fact with its name, its answer and where that comes from.
 * @param saidHere facts that were answered in this conversation. What came with the command may be somebody's word, or
 *   what a write has seen and put there to be pasted
 */
export function factsText({ facts }: Diagnosis, saidHere: ReadonlySet<string>): string[] {
  const from = ({ id, from }: FactReport) =>
    from === null
      ? ''
      : from === 'bench'
        ? ' (from the bench)'
        : saidHere.has(id)
          ? ' (answered here)'
          : ' (given with the command)'
  return facts.map(
    f => `  - ${f.id}: ${f.question} ${f.answer === null ? 'Not known.' : answerWords(f)}${from(f)}`,
  )
}

const answerWords = ({ answer }: FactReport): string =>
  answer === 'cannot-check' ? 'Cannot be checked.' : answer === 'yes' ? 'Yes.' : 'No.'

/** What would have been asked or done next. */
export function nextText({ next, facts }: Diagnosis): string {
  if (next.do === 'repair') return `Next: ${next.label}`
  if (next.do === 'ask') return next.why
  return `Next, look: ${facts.find(f => f.id === next.fact)?.question ?? next.fact}`
}
