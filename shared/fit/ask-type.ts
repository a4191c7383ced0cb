import type { Bench } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { nothingSeen, seenSchema } from '../model/looks.ts'
import { isKnown, type Route } from '../model/units.ts'
import type { Answer, Question } from './ask.ts'
import { possibleTypes, speaksFor, typeLabel, withSeen } from './identify.ts'
import { informationBits } from './information.ts'
import { factOf, LOOKS, type Look } from './looks.ts'
import { type Candidate, type Ranked, rankImages, type Verdict } from './rank.ts'
import { withUnit } from './rule.ts'

/**
 * What to look at on a receiver whose type is not known. A look is worth as much as it is expected to tell of the type,
 * and of the images that could come into question in the end. The type is never set by what was seen alone: a person
 * says so.
 */

/** A receiver of unknown type, and what each possible type would mean for the images. */
interface Case {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly possible: readonly ReceiverType[]
  readonly candidates: readonly Candidate[]
  /** What the rules would say of every candidate if the receiver were of this type. */
  readonly verdicts: (type: ReceiverType) => ReadonlyMap<string, Verdict>
  /** For each possible type, the images that could come into question; the same text for the same images. */
  readonly groups: readonly string[]
}

export const TYPE_FACT = 'receiver.typeId'

/** @returns looks that would tell something, the most telling first, then the types that are left, to be said yes to */
export function questionsForType(
  bench: Bench,
  receiver: ReceiverUnit,
  route: Route,
  candidates: readonly Candidate[],
): Question[] {
  const { possible } = possibleTypes(bench, receiver)
  if (possible.length === 0) return []
  const verdicts = verdictsByType(bench, receiver, route, candidates)
  const untold = { bench, receiver, possible, candidates, verdicts }
  const c: Case = {
    ...untold,
    groups: possible.map(type => [...stillOpen(untold, [type])].sort().join()),
  }
  const looks = LOOKS.filter(look => !isKnown<unknown>((receiver.seen ?? nothingSeen)[look.name]))
    .map(look => lookQuestion(c, look))
    .sort((a, b) => worth(b) - worth(a))
  const telling = looks.filter(q => q.bits > 0)
  if (possible.length > 1) return [...telling, whichType(c)]
  const [only] = possible
  const checks = looks.filter(couldContradict)
  // Where nothing was seen yet that the only type has, looking goes before saying so.
  return speaksFor(bench, receiver, only).length > 0
    ? [isItThisOne(c, only), ...checks]
    : [...checks, isItThisOne(c, only)]
}

/** Could what is seen be something else than the only possible type has? A number could always be another one. */
const couldContradict = (q: Question): boolean =>
  q.answers.some(a => a.leaves?.length === 0) || (q.other !== undefined && q.answers.length > 0)

/** An image that is for another type does not fit; only the rest is asked about, once for each type. */
function verdictsByType(
  bench: Bench,
  receiver: ReceiverUnit,
  route: Route,
  candidates: readonly Candidate[],
): Case['verdicts'] {
  const known = new Map<string, ReadonlyMap<string, Verdict>>()
  const forOthers = new Map(candidates.map(({ id }): [string, Verdict] => [id, 'does-not-fit']))
  return type => {
    const before = known.get(type.id)
    if (before) return before
    const own = candidates.filter(({ facts }) => facts.typeId === type.id || !isKnown(facts.typeId))
    const typed = withUnit(bench, 'receivers', receiver.id, { typeId: type.id })
    const ranked = own.length === 0 ? [] : (rankImages(typed, receiver.id, route, own) ?? [])
    const found = ranked.length === 0 ? forOthers : new Map([...forOthers, ...ranked.map(asVerdict)])
    known.set(type.id, found)
    return found
  }
}

const asVerdict = ({ candidate, verdict }: Ranked): [string, Verdict] => [candidate.id, verdict]

/** Rounded, so that equal questions stay in the order in which it is easy to look. */
const worth = (q: Question): number => Math.round((q.bits + (q.imageBits ?? 0)) * 1e9)

/** Images that could still come into question if the receiver is one of these types. */
function stillOpen(
  { candidates, verdicts }: Omit<Case, 'groups'>,
  types: readonly ReceiverType[],
): Set<string> {
  const open = new Set<string>()
  for (const type of types)
    for (const [id, verdict] of verdicts(type)) if (verdict !== 'does-not-fit') open.add(id)
  // Nobody knows what they are for; no type speaks against them before it is known.
  return types.length === 0 ? new Set(candidates.map(candidate => candidate.id)) : open
}

function lookQuestion(c: Case, look: Look): Question {
  const { bench, receiver, possible } = c
  const before = stillOpen(c, possible)
  const leavesOf = (value: string) => {
    const seen = seenSchema.parse({ ...receiver.seen, ...look.read(value) })
    return possible.filter(type => look.agrees(type, seen) !== false)
  }
  const answer = (value: string, label: string): Answer => {
    const leaves = leavesOf(value)
    const after = stillOpen(c, leaves)
    return {
      value,
      label,
      bench: withSeen(bench, receiver, look.read(value)),
      fits: [],
      ruledOut: [...before].filter(id => !after.has(id)),
      leaves: leaves.map(type => type.id),
    }
  }
  const answers = look.choices(possible, bench.catalogue).map(({ value, label }) => answer(value, label))
  const { other } = look
  return {
    fact: factOf(look.name),
    text: look.text,
    look: look.look,
    answers,
    ...(other && { other: { ...other, answer: (n: number) => answer(String(n), `${n} ${other.unit}`) } }),
    ...bitsOf(c, answers),
  }
}

/** A type that no offered answer is true of says nothing about any of them: it counts as true of each. */
function bitsOf(c: Case, answers: readonly Answer[]): Pick<Question, 'bits' | 'imageBits'> {
  const { possible, groups } = c
  const matched = new Set(answers.flatMap(a => a.leaves ?? []))
  const cases = answers.map(a => {
    const leaves = new Set(a.leaves)
    return possible.flatMap((type, i) => (leaves.has(type.id) || !matched.has(type.id) ? [i] : []))
  })
  return {
    bits: positive(informationBits(cases, possible.length)),
    imageBits: positive(informationBits(cases, possible.length, i => groups[i])),
  }
}

/** Without the dust that adding fractions leaves. */
const positive = (bits: number): number => (bits < 1e-9 ? 0 : bits)

function typeAnswer(c: Case, type: ReceiverType, label: string): Answer {
  const verdicts = [...c.verdicts(type)]
  const named = (wanted: Verdict) => verdicts.filter(([, verdict]) => verdict === wanted).map(([id]) => id)
  return {
    value: type.id,
    label,
    bench: withUnit(c.bench, 'receivers', c.receiver.id, { typeId: type.id }),
    fits: named('fits'),
    ruledOut: named('does-not-fit'),
    leaves: [type.id],
  }
}

/** Only for somebody who recognises it: what was seen does not say more. */
function whichType(c: Case): Question {
  return {
    fact: TYPE_FACT,
    text: 'Do you recognise it as one of these?',
    look: 'Only say so if you are sure: an image for another type can leave a receiver that no longer starts.',
    answers: c.possible.map(type => typeAnswer(c, type, typeLabel(type))),
    bits: Math.log2(c.possible.length),
  }
}

const article = (name: string) => (/^[aeiou]/i.test(name) ? 'an' : 'a')

function isItThisOne(c: Case, type: ReceiverType): Question {
  const name = typeLabel(type)
  const reasons = speaksFor(c.bench, c.receiver, type)
  return {
    fact: TYPE_FACT,
    text: `It looks like ${article(name)} ${name}. Is it one?`,
    look:
      reasons.length > 0
        ? `Of the types on this bench only this one has what was seen: ${reasons.join(', ')}. Others, not on this bench, may look the same.`
        : 'It is the only type on this bench. Nothing that was seen speaks for it yet.',
    answers: [typeAnswer(c, type, `Yes, it is ${article(name)} ${name}`)],
    bits: 0,
  }
}
