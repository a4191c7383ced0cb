import Range from 'semver/classes/range.js'
import type { Bench } from '../model/bench.ts'
import { isKnown, type Known, regionSchema, regionWords } from '../model/units.ts'
import type { Candidate } from './rank.ts'
import { withUnit } from './rule.ts'
import type { Situation } from './situation.ts'

/** Something about the receiver, its module or its radio that may not be known, and what it could be. */
export interface Askable {
  readonly fact: string
  readonly text: string
  readonly look: string
  readonly unknown: (s: Situation) => boolean
  readonly values: (
    s: Situation,
    candidates: readonly Candidate[],
  ) => readonly { value: string; label: string }[]
  /** Values that come to the same for every rule that can block are given the same text; only one is tried then. */
  readonly sameAs?: (s: Situation, candidates: readonly Candidate[]) => (value: string) => string
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

/** The rules know a receiver's firmware by the ranges that it lies in, but for the one that only warns. */
function firmwareRanges(s: Situation, candidates: readonly Candidate[]): (version: string) => string {
  const { wirelessFrom } = s.receiverType
  const ranges = new Set([
    ...s.bench.catalogue.pairings.map(p => p.receiverFirmware),
    ...candidates.flatMap(c => c.facts.receiverFirmware ?? []),
    ...(wirelessFrom !== undefined && isKnown(wirelessFrom) ? [`>=${wirelessFrom}`] : []),
  ])
  const read = [...ranges].map(range => new Range(range, { includePrerelease: true }))
  return version => read.map(range => Number(range.test(version))).join('')
}

export const ASKABLE: readonly Askable[] = [
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
    sameAs: firmwareRanges,
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
