import type { Bench } from '../model/bench.ts'
import { isKnown, type Known, type Route, regionSchema, regionWords } from '../model/units.ts'
import { questionsForType } from './ask-type.ts'
import { entropyBits } from './information.ts'
import type { OtherNumber } from './looks.ts'
import { type Candidate, type Ranked, rankImages } from './rank.ts'
import { withUnit } from './rule.ts'
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

interface Askable {
  readonly fact: string
  readonly text: string
  readonly look: string
  readonly unknown: (s: Situation) => boolean
  readonly values: (
    s: Situation,
    candidates: readonly Candidate[],
  ) => readonly { value: string; label: string }[]
  readonly set: (s: Situation, value: string) => Bench
}

const plain = (values: Iterable<string>) => [...new Set(values)].map(value => ({ value, label: value }))
const missing = (value: Known<unknown> | undefined) => value !== undefined && !isKnown(value)

/** Firmware that the receiver may run: what images of its type there are, and what was before all of them. */
const firmwareValues = (s: Situation, candidates: readonly Candidate[]) =>
  plain(
    [
      '1.0.0',
      ...candidates.filter(c => c.facts.typeId === s.receiverType.id).map(c => c.facts.version),
    ].filter(isKnown<string>),
  )

/** Firmware that a module may run: the lower ends and the upper ends of every range that somebody asks for. */
function moduleFirmwareValues(s: Situation): readonly { value: string; label: string }[] {
  const ranges = s.bench.catalogue.pairings.map(p => p.moduleFirmware).join(' ')
  return plain(['0.1.0', ...(ranges.match(/\d+\.\d+\.\d+/g) ?? [])])
}

const ASKABLE: readonly Askable[] = [
  {
    fact: 'receiver.hardwareRevision',
    text: 'Which hardware revision is the receiver?',
    look: 'A letter or number on its label or on the edge of its circuit board.',
    unknown: s => missing(s.receiver.hardwareRevision),
    values: s => plain(s.receiverType.hardwareRevisions),
    set: (s, value) => withUnit(s.bench, 'receivers', s.receiver.id, { hardwareRevision: value }),
  },
  {
    fact: 'receiver.region',
    text: 'How does the receiver share the air?',
    look: 'The label, or the country it was sold in: listen-before-talk in Europe, hopping elsewhere. Local rules decide.',
    unknown: s => missing(s.receiver.region),
    values: () => regionSchema.options.map(value => ({ value, label: regionWords[value] })),
    set: (s, value) => withUnit(s.bench, 'receivers', s.receiver.id, { region: regionSchema.parse(value) }),
  },
  {
    fact: 'receiver.generation',
    text: 'Which link generation does the receiver speak?',
    look: 'The generation that is set in the radio for a model that flies with it.',
    unknown: s => missing(s.receiver.generation),
    values: s => {
      const native = isKnown(s.receiverType.nativeGeneration) ? [s.receiverType.nativeGeneration] : []
      return plain([...native, ...s.receiverType.conversions.flatMap(c => [c.from, c.to])].map(String))
    },
    set: (s, value) => withUnit(s.bench, 'receivers', s.receiver.id, { generation: Number(value) }),
  },
  {
    fact: 'receiver.firmware',
    text: 'Which firmware does the receiver run?',
    look: "The radio's page for the receiver, or the label of a new one.",
    unknown: s => missing(s.receiver.firmware),
    values: firmwareValues,
    set: (s, value) => withUnit(s.bench, 'receivers', s.receiver.id, { firmware: value }),
  },
  {
    fact: 'module.firmware',
    text: 'Which firmware does the RF module run?',
    look: "The radio's page for its modules.",
    unknown: s => missing(s.module?.firmware),
    values: moduleFirmwareValues,
    set: (s, value) => withUnit(s.bench, 'modules', s.module?.id, { firmware: value }),
  },
  {
    fact: 'module.region',
    text: 'How does the RF module share the air?',
    look: "The module's label, or the radio's page for its modules.",
    unknown: s => missing(s.module?.region),
    values: () => regionSchema.options.map(value => ({ value, label: regionWords[value] })),
    set: (s, value) => withUnit(s.bench, 'modules', s.module?.id, { region: regionSchema.parse(value) }),
  },
  {
    fact: 'module.generation',
    text: 'For which generation is the module set?',
    look: "The model's page for the module on the radio.",
    unknown: s => missing(s.module?.generation),
    values: s =>
      plain((s.moduleType && isKnown(s.moduleType.generations) ? s.moduleType.generations : []).map(String)),
    set: (s, value) => withUnit(s.bench, 'modules', s.module?.id, { generation: Number(value) }),
  },
  {
    fact: 'radio.systemVersion',
    text: 'Which system version does the radio run?',
    look: "The radio's page about itself.",
    unknown: s => missing(s.radio?.systemVersion),
    values: (_, candidates) =>
      plain(['0.1.0', ...candidates.flatMap(c => c.facts.radioSystem?.match(/\d+\.\d+\.\d+/g) ?? [])]),
    set: (s, value) => withUnit(s.bench, 'radios', s.radio?.id, { systemVersion: value }),
  },
]

interface Tried extends Answer {
  /** Rules left, over all the images, that something not known keeps from being decided. */
  readonly undecidedRules: number
}

const undecidedRules = (ranked: readonly Ranked[]): number =>
  ranked.reduce(
    (sum, { findings }) =>
      sum + findings.filter(f => f.holds === 'unknown' && f.rule.severity === 'block').length,
    0,
  )

function answersTo(ask: Askable, s: Situation, route: Route, candidates: readonly Candidate[]): Tried[] {
  return ask.values(s, candidates).map(({ value, label }) => {
    const bench = ask.set(s, value)
    const ranked = rankImages(bench, s.receiver.id, route, candidates) ?? []
    const named = (verdict: string) => ranked.filter(r => r.verdict === verdict).map(r => r.candidate.id)
    const sorted = { fits: named('fits'), ruledOut: named('does-not-fit') }
    return { value, label, bench, ...sorted, undecidedRules: undecidedRules(ranked) }
  })
}

/**
 * All candidates are undecided before the answer. One that decides some is worth asking for, and so is one without
 * which nothing could be said to fit in the end, though others are needed beside it.
 */
const decides = (tried: readonly Tried[], bits: number, before: number): boolean =>
  bits > 0 || tried.some(a => a.fits.length + a.ruledOut.length > 0 || a.undecidedRules < before)

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
  // What is ruled out already, whatever the answer, needs no looking at again.
  const undecided = (rankImages(bench, receiverId, route, candidates) ?? []).filter(
    r => r.verdict === 'not-known',
  )
  const open = undecided.map(r => r.candidate)
  const before = undecidedRules(undecided)
  const questions = ASKABLE.filter(ask => ask.unknown(s)).flatMap((ask): Question[] => {
    const tried = answersTo(ask, s, route, open)
    const answers: Answer[] = tried.map(({ undecidedRules: _, ...answer }) => answer)
    const groups = new Map<string, number>()
    for (const a of answers) {
      const key = `${[...a.fits].sort().join()}|${[...a.ruledOut].sort().join()}`
      groups.set(key, (groups.get(key) ?? 0) + 1)
    }
    const bits = groups.size > 1 ? entropyBits([...groups.values()]) : 0
    if (!decides(tried, bits, before)) return []
    return [{ fact: ask.fact, text: ask.text, look: ask.look, answers, bits }]
  })
  return questions.sort((a, b) => b.bits - a.bits || (a.fact < b.fact ? -1 : 1))
}
