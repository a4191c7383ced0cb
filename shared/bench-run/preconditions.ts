import type { Finding } from '../fit/rule.ts'
import { findings } from '../fit/rules.ts'
import { situationOf } from '../fit/situation.ts'
import { type Problem, type Result, sayProblem } from '../model/problem.ts'
import { checkWiring, type WiringCheck } from '../wiring/check.ts'
import type { WiringFinding } from '../wiring/finding.ts'
import { type Caution, cautionsOf, judgeCautions, type Unsure } from './cautions.ts'
import type { CautionAnswers, Precondition, PreconditionId, Rehearsed } from './check.ts'
import { type Chosen, lineOfChosen } from './chosen.ts'
import type { WritePlan } from './plan.ts'
import { type PlannedWrite, planWrite } from './ready.ts'
import { notSpoken, typeOfReceiver } from './spoken.ts'

/** What has to hold before the first octet is sent. What is not known never counts as holding. */

/** What is known of the port. */
export interface PortFact {
  readonly state: 'free' | 'in-use' | 'no-permission' | 'absent' | 'not-known'
  readonly label: string
  readonly text: string
  readonly remedy?: string | undefined
}

export interface CheckInput {
  readonly plan: WritePlan
  readonly chosen: Result<Chosen>
  readonly port: PortFact
  readonly answers: CautionAnswers
  /** The rehearsal that is known by a key, if there is one. */
  readonly rehearsed: (key: string) => Rehearsed | undefined
}

export interface WriteCheck {
  readonly ready: boolean
  readonly preconditions: readonly Precondition[]
  readonly cautions: readonly Caution[]
  readonly rehearsed: Rehearsed | undefined
  readonly planned: PlannedWrite | undefined
  readonly wiring: WiringCheck | undefined
}

const CLAIMS: Readonly<Record<PreconditionId, string>> = {
  port: 'The port is there, free, and may be used.',
  dialect: 'The way of writing is known, and the receiver speaks it.',
  wiring: 'Adapter, cable and receiver are wired so that nothing is harmed and both hear each other.',
  supply: 'One supply feeds the receiver, the right way round, and carries the load.',
  image: 'The image is whole, and fits this receiver.',
  rehearsed: 'This very plan was rehearsed, and went through.',
  cautions: 'What has to be looked at was looked at.',
}

interface Judged {
  readonly holds: Precondition['holds']
  readonly why: readonly string[]
  readonly cure?: string | null | undefined
}
const holds: Judged = { holds: 'yes', why: [] }

export function checkWrite(input: CheckInput): WriteCheck {
  const { plan, chosen, port, answers } = input
  const planned = chosen.ok ? planWrite(plan, chosen.value) : undefined
  const write = planned?.ok ? planned.value : undefined
  const wiring = wiringOf(plan, chosen)
  const rules = write ? imageFindings(write) : []
  const cautions = write ? cautionsOf(write, rules.filter(isUnsure).map(unsureOf)) : []
  const rehearsed = write && input.rehearsed(write.key)
  const judged: Record<PreconditionId, Judged> = {
    port: judgePort(port),
    dialect: judgeDialect(plan, chosen),
    wiring: judgeWiring(wiring, f => !isAboutSupply(f)),
    supply: judgeWiring(wiring, isAboutSupply),
    image: planned === undefined ? notLooked('dialect') : judgeImage(planned, rules),
    rehearsed: judgeRehearsal(write, rehearsed),
    cautions: write === undefined ? notLooked('image') : judgeCautions(cautions, answers),
  }
  const preconditions = (Object.keys(CLAIMS) as PreconditionId[]).map(id => ({
    ...{ id, claim: CLAIMS[id], holds: judged[id].holds },
    why: [...judged[id].why],
    cure: judged[id].cure ?? null,
  }))
  return {
    ready: preconditions.every(p => p.holds === 'yes'),
    ...{ preconditions, cautions, rehearsed, planned: write },
    wiring: wiring.ok ? wiring.value : undefined,
  }
}

const notLooked = (first: 'dialect' | 'image'): Judged => ({
  holds: 'unknown',
  why: [`It cannot be looked at before the ${first === 'dialect' ? 'way of writing' : 'image'} is right.`],
})

const byProblems = (problems: readonly Problem[]): Judged => ({
  holds: 'no',
  why: problems.map(problem => sayProblem({ ...problem, remedy: undefined })),
  cure: problems[0].remedy,
})

function judgeDialect({ bench, receiverId }: WritePlan, chosen: Result<Chosen>): Judged {
  if (!chosen.ok) return byProblems(chosen.problems)
  const type = typeOfReceiver(bench, receiverId)
  const not = type && notSpoken(type, chosen.value.name)
  return not ? { holds: 'no', why: [not.why], cure: not.cure } : holds
}

function judgePort({ state, text, remedy }: PortFact): Judged {
  if (state === 'free') return holds
  // Whether a serial server lets us in is found out when it is opened, before anything is sent.
  if (state === 'not-known') return { holds: 'yes', why: [text] }
  return { holds: 'no', why: [text], cure: remedy }
}

function wiringOf(plan: WritePlan, chosen: Result<Chosen>): Result<WiringCheck> {
  const { bench, receiverId, adapterId, cableId, feed, supplyId } = plan
  return checkWiring({
    ...{ bench, receiverId, adapterId, cableId, feed },
    ...(supplyId === undefined ? {} : { supplyId }),
    ...(chosen.ok ? { line: lineOfChosen(chosen.value), dialect: chosen.value.name } : {}),
  })
}

const ABOUT_SUPPLY = /^(supply-|two-supplies|no-supply|ground-on-positive|one-supply|budget)/
const isAboutSupply = ({ code }: WiringFinding): boolean => ABOUT_SUPPLY.test(code)

function judgeWiring(check: Result<WiringCheck>, which: (finding: WiringFinding) => boolean): Judged {
  if (!check.ok) return byProblems(check.problems)
  const own = check.value.findings.filter(which)
  if (check.value.setup === undefined)
    return { holds: 'unknown', why: check.value.findings.map(f => f.why), cure: null }
  const wrong = own.filter(f => f.severity === 'danger' || f.severity === 'block')
  if (wrong.length > 0)
    return { holds: 'no', why: wrong.map(f => f.why), cure: wrong.find(f => f.cure)?.cure?.label }
  // A check that is not safe with nothing wrong in this half is wrong in the other one.
  return { holds: 'yes', why: own.filter(f => f.severity === 'warn').map(f => f.why) }
}

/** The rules between image and receiver; radio, module and card take no part in this. */
function imageFindings({ plan, unit, image }: PlannedWrite): Finding[] {
  const situation = situationOf(plan.bench, unit.id, 'cable', image.facts)
  return situation ? findings(situation).filter(isAboutImage) : []
}
const WITH_IMAGE = ['stepping-stone', 'conversion-by-cable']
const isAboutImage = ({ rule }: Finding) => rule.id.startsWith('image-') || WITH_IMAGE.includes(rule.id)

const isRefused = ({ rule, holds: is }: Finding): boolean =>
  rule.severity === 'block' && (is === 'no' || (is === 'unknown' && rule.id === 'image-type'))
const isUnsure = ({ rule, holds: is }: Finding): boolean =>
  rule.severity === 'block' && is === 'unknown' && rule.id !== 'image-type'
const unsureOf = ({ rule, sentence }: Finding): Unsure => ({ rule: rule.id, claim: rule.claim, sentence })

function judgeImage(planned: Result<PlannedWrite>, rules: readonly Finding[]): Judged {
  if (!planned.ok) return byProblems(planned.problems)
  const refused = rules.filter(isRefused)
  if (refused.length > 0)
    return {
      holds: 'no',
      why: refused.map(f => f.sentence),
      cure: refused[0].remedies[0]?.label ?? 'Take another image.',
    }
  return { holds: 'yes', why: rules.filter(f => f.holds !== 'yes').map(f => f.sentence) }
}

function judgeRehearsal(write: PlannedWrite | undefined, rehearsed: Rehearsed | undefined): Judged {
  if (write === undefined) return notLooked('image')
  if (rehearsed === undefined)
    return { holds: 'unknown', why: ['This plan was not rehearsed yet.'], cure: 'Rehearse this plan.' }
  if (rehearsed.ok) return { holds: 'yes', why: [rehearsed.sentence] }
  return { holds: 'no', why: [rehearsed.sentence], cure: 'Change the plan, and rehearse it again.' }
}

/** For who starts a write all the same: one problem for each precondition that does not hold. */
export const problemsOf = ({ preconditions }: WriteCheck): Problem[] =>
  preconditions
    .filter(p => p.holds !== 'yes')
    .map(p => ({
      code: `write.${p.id}`,
      field: p.id,
      message: p.why[0] ?? `Not so: ${p.claim}`,
      ...(p.cure === null ? {} : { remedy: p.cure }),
    }))
