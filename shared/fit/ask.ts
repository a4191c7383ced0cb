import type { Bench } from '../model/bench.ts'
import { isKnown, type Route } from '../model/units.ts'
import { questionsForType } from './ask-type.ts'
import { ASKABLE, type Askable } from './askable.ts'
import { entropyBits } from './information.ts'
import type { OtherNumber } from './looks.ts'
import { type Candidate, type Standing, standings, type Verdict } from './rank.ts'
import { type Situation, situationOf } from './situation.ts'

/**
 * What to look up next: the unknown fact whose answer tells most about which image fits. Every possible answer is
 * tried on the rules; an answer that changes nothing is not worth asking for.
 */
export interface Question {
  /** Field of the bench that the answer goes into. */
  readonly fact: string
  readonly text: string
  /** Where a person looks. */
  readonly look: string
  readonly answers: readonly Answer[]
  /**
   * Expected information in bits, all answers taken as equally likely; 0 where every answer comes to the same, but
   * one has to be given before anything can be said to fit.
   */
  readonly bits: number
  /** Of that, what is told about which images may come into question; only where the type is asked for. */
  readonly imageBits?: number
  /** Where a number can be answered that is not among the answers. */
  readonly other?: OtherNumber & { readonly answer: (value: number) => Answer }
}

export interface Answer {
  readonly value: string
  readonly label: string
  readonly bench: Bench
  /** Images that would fit, then, and those that are ruled out. */
  readonly fits: readonly string[]
  readonly ruledOut: readonly string[]
  /** Types that the receiver may be of, then; only where the type is asked for. */
  readonly leaves?: readonly string[]
}

interface Tried {
  readonly answer: Answer
  readonly standing: Standing
}

function answersTo(
  ask: Askable,
  s: Situation,
  candidates: readonly Candidate[],
  standingIn: (s: Situation) => Standing,
): Tried[] {
  // Many answers share a standing, and then the lists too.
  const lists = new Map<Standing, Pick<Answer, 'fits' | 'ruledOut'>>()
  const listsOf = (standing: Standing) => {
    const named = (verdict: Verdict) =>
      candidates.flatMap(({ id }, i) => (standing.verdicts[i] === verdict ? [id] : []))
    const found = lists.get(standing) ?? { fits: named('fits'), ruledOut: named('does-not-fit') }
    lists.set(standing, found)
    return found
  }
  const kindOf = ask.sameAs?.(s, candidates) ?? ((value: string) => value)
  const byKind = new Map<string, Standing>()
  return ask.values(s, candidates).flatMap(({ value, label }): Tried[] => {
    const bench = ask.set(s, value)
    const after = situationOf(bench, s.receiver.id, s.route, undefined)
    if (after === undefined) return []
    const kind = kindOf(value)
    const standing = byKind.get(kind) ?? standingIn(after)
    byKind.set(kind, standing)
    return [{ answer: { value, label, bench, ...listsOf(standing) }, standing }]
  })
}

/** How many answers come to the same, for each thing that they can come to. */
function sameVerdicts(tried: readonly Tried[]): number[] {
  const texts = new Map<Standing, string>()
  const groups = new Map<string, number>()
  for (const { standing } of tried) {
    const text = texts.get(standing) ?? standing.verdicts.join()
    texts.set(standing, text)
    groups.set(text, (groups.get(text) ?? 0) + 1)
  }
  return [...groups.values()]
}

/**
 * All candidates are undecided before the answer. One that decides some is worth asking for, and so is one without
 * which nothing could be said to fit in the end, though others are needed beside it.
 */
const decides = (tried: readonly Tried[], bits: number, before: number): boolean =>
  bits > 0 ||
  tried.some(
    ({ answer, standing }) =>
      answer.fits.length + answer.ruledOut.length > 0 || standing.undecidedRules < before,
  )

/**
 * Every question that an answer could decide something by, the most telling first.
 * @returns an empty list when nothing that is unknown matters
 */
export function questionsFor(
  bench: Bench,
  receiverId: string,
  route: Route,
  candidates: readonly Candidate[],
): Question[] {
  const receiver = bench.receivers.find(r => r.id === receiverId)
  if (receiver && !isKnown(receiver.typeId)) return questionsForType(bench, receiver, route, candidates)
  const s = situationOf(bench, receiverId, route, undefined)
  if (s === undefined) return []
  const now = standings(candidates.map(c => c.facts))(s)
  // What is ruled out already, whatever the answer, needs no looking at again.
  const open = candidates.filter((_, i) => now.verdicts[i] === 'not-known')
  const standingIn = standings(open.map(c => c.facts))
  const before = standingIn(s).undecidedRules
  const questions = ASKABLE.filter(ask => ask.unknown(s)).flatMap((ask): Question[] => {
    const tried = answersTo(ask, s, open, standingIn)
    const groups = sameVerdicts(tried)
    const bits = groups.length > 1 ? entropyBits(groups) : 0
    if (!decides(tried, bits, before)) return []
    return [{ fact: ask.fact, text: ask.text, look: ask.look, answers: tried.map(t => t.answer), bits }]
  })
  return questions.sort((a, b) => b.bits - a.bits || (a.fact < b.fact ? -1 : 1))
}
