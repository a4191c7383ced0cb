import { builtFacts } from '../fit/built-facts.ts'
import type { Finding } from '../fit/rule.ts'
import type { RuleId } from '../fit/rule-ids.ts'
import { checkFit, ruleById } from '../fit/rules.ts'
import { findType } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { failed, oneOf, type Result, succeeded } from '../model/problem.ts'
import { typeNotKnown } from '../model/type-not-known.ts'
import { isKnown, type Route } from '../model/units.ts'
import { findCause } from './causes.ts'
import { explain, type Told, whyAsk, whyLook, whyRepair } from './explain.ts'
import type { FactSpec } from './facts.ts'
import { suspicions } from './likelihood.ts'
import {
  type FactModel,
  modelSymptom,
  modelTable,
  type SymptomModel,
  systemOf,
  type TableModel,
} from './model.ts'
import { strangersIn } from './names.ts'
import { advise, usualCosts } from './next-check.ts'
import type { Answer, CauseSetReport, Diagnosis, DiagnosisRequest, FactReport, NextStep } from './report.ts'
import { type Shares, sharesOf } from './second-tries.ts'
import type { Reading } from './system.ts'
import { worthTelling } from './telling.ts'
import { LINK } from './watch.ts'
import { symptomWords } from './words.ts'

/** Sets that are told; the rest are less likely than anything that a person would act on. */
const MOST_TOLD = 12

export interface DiagnoseOptions {
  /** The table of this bench, receiver and route where it has been modelled already. */
  readonly table?: TableModel
}

/** Which way the update goes that the request is about. */
export const routeOf = (request: Pick<DiagnosisRequest, 'route' | 'symptom'>): Route => {
  const { routes } = symptomWords[request.symptom]
  return request.route !== undefined && routes.includes(request.route) ? request.route : routes[0]
}

/**
 * Why does it not work, and what is to be done next?
 * @returns problems `bench.no-receiver`, `receiver.type-not-known`, `diagnose.fact` and `diagnose.cause` for names that
 * there are not, `image.unknown`
 */
export function diagnose(request: DiagnosisRequest, options: DiagnoseOptions = {}): Result<Diagnosis> {
  const { bench, receiverId, symptom } = request
  const unit = bench.receivers.find(r => r.id === receiverId)
  if (unit && !isKnown(unit.typeId)) return failed(typeNotKnown(unit))
  const route = routeOf(request)
  const table = options.table ?? (unit && modelTable(bench, receiverId, route))
  if (unit === undefined || table === undefined)
    return failed({
      code: 'bench.no-receiver',
      field: 'receiver',
      message: `There is no receiver called "${receiverId}" on this bench.`,
      expected: oneOf(
        bench.receivers.map(r => r.id),
        'a bench with receivers; this one has none',
      ),
    })
  const strangers = strangersIn(request)
  if (strangers.length > 0) return failed(...strangers)
  const model = modelSymptom(table, symptom)
  const found = benchFindings(request, route)
  if (!found.ok) return found
  const facts = model.facts.map(fact => reportFact(fact, request.answers, found.value))
  const shares = sharesOf(table, request.secondTries, request.counts)
  return succeeded({
    symptom,
    counted: model.causes.reduce((sum, { id }) => sum + (request.counts[id] ?? 0), 0),
    secondTries: model.causes.reduce((most, { id }) => Math.max(most, shares.casesByCause[id] ?? 0), 0),
    receiver: { id: unit.id, nickname: unit.nickname },
    route,
    facts,
    ...conclude(model, facts, found.value, { ...request, shares }),
    shows: model.facts.flatMap(({ spec, shows }) => shows.map(cause => ({ cause, fact: spec.id }))),
  })
}

type Findings = ReadonlyMap<string, Finding>

/** What the rules find on the bench as it is written down. */
function benchFindings(request: DiagnosisRequest, route: Route): Result<Findings> {
  const { bench, receiverId, imageId } = request
  const image = bench.images.find(i => i.id === imageId)
  if (imageId !== undefined && image === undefined)
    return failed({
      code: 'image.unknown',
      field: 'image',
      message: `There is no image called "${imageId}" on the bench.`,
      expected: oneOf(
        bench.images.map(i => i.id),
        'a bench with images; this one has none',
      ),
    })
  const own = image && (findType(bench.catalogue, 'receiverTypes', image.typeId) as ReceiverType | undefined)
  const facts = image && builtFacts(image, own)
  const found = checkFit(bench, receiverId, route, facts) ?? []
  const link = (checkFit(bench, receiverId, 'wireless') ?? []).filter(f => LINK.includes(f.rule.id))
  return succeeded(new Map([...link, ...found].map(f => [f.rule.id, f])))
}

function saidByBench({ by, sound }: FactSpec, found: Findings): 'yes' | 'no' | null {
  const finding = by.kind === 'rule' ? found.get(by.rule) : undefined
  if (by.kind !== 'rule' || finding === undefined || finding.holds === 'unknown') return null
  const isUnsound = finding.holds === 'no' && (by.side === undefined || by.side === finding.side)
  return isUnsound ? other(sound) : sound
}

function reportFact(
  { spec }: FactModel,
  answers: Readonly<Record<string, Answer>>,
  found: Findings,
): FactReport {
  const benchSays = saidByBench(spec, found)
  const isStanding = spec.by.kind === 'rule' && spec.by.stands
  const given = answers[spec.id] ?? null
  const answer = given ?? (isStanding ? benchSays : null)
  return {
    id: spec.id,
    question: spec.question,
    sound: spec.sound,
    answer,
    from: given !== null ? 'you' : answer === null ? null : 'bench',
    benchSays,
    look: spec.look,
    minutes: spec.minutes,
    tools: [...spec.tools],
    risk: spec.risk ?? null,
    misread: spec.misread,
    rule: spec.by.kind === 'rule' ? spec.by.rule : null,
  }
}

const other = (answer: 'yes' | 'no') => (answer === 'yes' ? 'no' : 'yes')

type Known = Pick<DiagnosisRequest, 'counts' | 'tried' | 'putOff' | 'confirmed'> & {
  readonly shares: Shares
}

/** What was found, and the shares of what may have been it. */
function together(counts: Known['counts'], { byCause }: Shares): Record<string, number> {
  const all: Record<string, number> = { ...counts }
  for (const [id, share] of Object.entries(byCause)) all[id] = (all[id] ?? 0) + share
  return all
}

/** The readings that people and bench have given. */
export function readingsOf(facts: readonly FactReport[]): Map<string, Reading> {
  const readings = new Map<string, Reading>()
  for (const { id, answer, sound } of facts)
    if (answer === 'yes' || answer === 'no') readings.set(id, answer === sound ? 'sound' : 'unsound')
  return readings
}

function conclude(
  model: SymptomModel,
  facts: readonly FactReport[],
  found: Findings,
  known: Known,
): Pick<Diagnosis, 'causes' | 'next'> {
  const { counts, shares } = known
  const system = systemOf(model, { ...known, counts: together(counts, shares) })
  const readings = readingsOf(facts)
  const all = suspicions(system, readings)
  const told = worthTelling(all).slice(0, MOST_TOLD)
  const causes = told.map((suspicion): CauseSetReport => {
    const members = suspicion.members.flatMap(id => findCause(id) ?? [])
    return {
      members: members.map(({ id, label, mechanism, rule, perThousand }) => ({
        id,
        label,
        mechanism,
        rule: rule ?? null,
        rate: rateWords(perThousand, counts[id] ?? 0, shares.byCause[id] ?? 0),
      })),
      likelihood: Math.min(1, suspicion.likelihood),
      explanation: explain(model, members, facts, suspicion.doubts, sentenceOf(found)),
      doubts: [...suspicion.doubts],
      remedies: members.map(({ id, repair }) => ({
        cause: id,
        label: repair.label,
        minutes: repair.minutes,
        reversible: repair.reversible,
        caution: repair.caution ?? null,
      })),
    }
  })
  const closed = new Set(facts.filter(f => f.answer === 'cannot-check').map(f => f.id))
  const again = new Set(known.confirmed && [...readings.keys()].filter(id => !known.confirmed?.includes(id)))
  const putOff = new Set(known.putOff)
  const advice = advise(system, readings, { ...usualCosts, closed, again, putOff }, all)
  return { causes, next: nextOf(advice, model, causes, putOff) }
}

const sentenceOf = (found: Findings) => (rule: RuleId) => {
  const finding = found.get(rule)
  return finding?.holds === 'no' ? finding.sentence : (ruleById(rule)?.claim ?? '')
}

function rateWords(perThousand: number, count: number, share: number): string {
  const said = [`About ${perThousand} of a thousand updates that go wrong (common practice, no source)`]
  if (count > 0) said.push(`your own logbook counts it ${count === 1 ? 'once' : `${count} times`}`)
  if (share >= LEAST_SHARE_TOLD)
    said.push(
      `second attempts that went through by themselves speak for it as ${share.toFixed(1)} finds would`,
    )
  return `${said.join('; ')}.`
}
const LEAST_SHARE_TOLD = 0.05

/** The advice in words. */
export function nextOf(
  advice: ReturnType<typeof advise>,
  model: SymptomModel,
  causes: readonly Told[],
  putOff: ReadonlySet<string> = new Set(),
): NextStep {
  const { next } = advice
  if (next.do === 'ask') return { do: 'ask', why: whyAsk(causes, putOff) }
  if (next.do === 'repair') {
    const repairs = next.causes.flatMap(id => findCause(id) ?? [])
    return {
      do: 'repair',
      members: [...next.causes],
      label: repairs.map(({ repair }) => repair.label).join(' '),
      minutes: repairs.reduce((sum, { repair }) => sum + repair.minutes, 0),
      why: whyRepair(next.causes, causes),
    }
  }
  const spec = model.facts.find(fact => fact.spec.id === next.fact)?.spec
  const look = advice.looks.find(one => one.fact === next.fact)
  return {
    do: 'look',
    fact: next.fact,
    again: next.again,
    minutes: spec?.minutes ?? 0,
    why: whyLook(model, next.fact, causes, look?.savesMinutes ?? 0, next.again),
  }
}
