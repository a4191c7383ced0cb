import { findFact } from './facts.ts'
import { looksUnsound, modelSymptom, priorsOf, type SymptomModel, type TableModel } from './model.ts'
import type { SecondTry, SymptomId } from './report.ts'

/**
 * An update whose first attempt failed and whose second worked, with nothing put right in between. Nobody knows the
 * reason, so it is no find. But something of what heals by itself was there: one case is shared out among those causes,
 * by how likely each is after what was seen (quasi-Bayes counting of cases whose class is not known: A. F. M. Smith and
 * U. E. Makov, A quasi-Bayes sequential procedure for mixtures, J. R. Stat. Soc. B 40 (1978) 106–112). The shares are
 * taken by the stated rates and by what was found, never by earlier shares, so that a guess does not feed on itself.
 */
export interface Shares {
  /** By cause, as a number of finds. */
  readonly byCause: Readonly<Record<string, number>>
  /** Cases that are in it, by each cause that they may have been. */
  readonly casesByCause: Readonly<Record<string, number>>
}

const SECOND_TRY = 'second-try'

/**
 * Such a case weighs half a find, for it may also have been something that is not known here. Cases that are not quite
 * of the kind count for a part: power prior, J. G. Ibrahim and M.-H. Chen, Power prior distributions for regression
 * models, Statistical Science 15 (2000) 46–60. That it is a half is a choice of ours, no source.
 */
const WEIGHT = 0.5

/** Who starts a second attempt at once has seen that the write failed, and often not at which block of it. */
const WHILE_WRITING: readonly SymptomId[] = ['write-refused', 'stops', 'verify-fails']

/**
 * @param tries those of another route than the table's are left out: what they looked like is not known here
 * @param counts how often each cause was found
 */
export function sharesOf(
  table: TableModel,
  tries: readonly SecondTry[],
  counts: Readonly<Record<string, number>>,
): Shares {
  const byCause: Record<string, number> = {}
  const casesByCause: Record<string, number> = {}
  const known = new Map<string, ReadonlyMap<string, number>>()
  for (const one of tries) {
    if (one.route !== table.route) continue
    const key = JSON.stringify([one.symptom, Object.entries(one.answers).sort()])
    const shares = known.get(key) ?? shareOut(table, one, counts)
    known.set(key, shares)
    for (const [id, share] of shares) {
      byCause[id] = (byCause[id] ?? 0) + WEIGHT * share
      casesByCause[id] = (casesByCause[id] ?? 0) + 1
    }
  }
  return { byCause, casesByCause }
}

/** One case by cause; empty where nothing that is known here heals by itself. */
function shareOut(
  table: TableModel,
  { symptom, answers }: SecondTry,
  counts: Readonly<Record<string, number>>,
): ReadonlyMap<string, number> {
  const exact = weightsFor(table, symptom, answers, counts)
  const weights =
    exact.size > 0 || !WHILE_WRITING.includes(symptom)
      ? exact
      : new Map(WHILE_WRITING.flatMap(near => [...weightsFor(table, near, answers, counts)]))
  const whole = [...weights.values()].reduce((sum, weight) => sum + weight, 0)
  return new Map([...weights].map(([id, weight]) => [id, weight / whole]))
}

function weightsFor(
  table: TableModel,
  symptom: SymptomId,
  answers: SecondTry['answers'],
  counts: Readonly<Record<string, number>>,
): ReadonlyMap<string, number> {
  const model = modelSymptom(table, symptom)
  const priors = priorsOf(model.causes, counts)
  return new Map(
    healing(table, model)
      .map(id => [id, (priors.get(id) ?? 0) * likelihoodOf(model, id, answers)] as const)
      .filter(([, weight]) => weight > 0),
  )
}

/** Causes that bring the symptom about, and with which a second attempt goes through. */
function healing(table: TableModel, { symptom, shows }: SymptomModel): string[] {
  const spec = findFact(SECOND_TRY)
  if (spec === undefined) return []
  return table.causes
    .filter(one => shows.includes(one.cause.id) && !looksUnsound(spec, one, symptom))
    .map(({ cause }) => cause.id)
}

/** How likely the readings are with this cause alone. */
function likelihoodOf(model: SymptomModel, id: string, answers: SecondTry['answers']): number {
  let likelihood = 1
  for (const { spec, shows } of model.facts) {
    const answer = answers[spec.id]
    if (answer === undefined || spec.id === SECOND_TRY) continue
    const isRight = (answer !== spec.sound) === shows.includes(id)
    likelihood *= isRight ? 1 - spec.misread : spec.misread
  }
  return likelihood
}
