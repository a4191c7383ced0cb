import type { Catalogue, ReceiverType } from '../model/catalogue.ts'
import {
  antennaKindSchema,
  antennaKindWords,
  antennaTipSchema,
  antennaTipWords,
  type Seen,
} from '../model/looks.ts'
import { bandSchema, isKnown, type Known } from '../model/units.ts'

/** What a person can look at of a receiver without markings, and what each type states about it. */

export type LookName = Exclude<keyof Seen, 'withinMillimetres'>

export interface Choice {
  readonly value: string
  readonly label: string
}

/** A number that is not among the answers offered. */
export interface OtherNumber {
  readonly label: string
  readonly unit: string
  readonly least: number
  readonly most: number
}

export interface Look {
  readonly name: LookName
  readonly text: string
  /** Where and how a person looks. */
  readonly look: string
  /** What could be answered, what the possible types have and what else there is. */
  readonly choices: (possible: readonly ReceiverType[], catalogue: Catalogue) => readonly Choice[]
  readonly other?: OtherNumber
  /** What was answered, as it stands in the bench. */
  readonly read: (value: string) => Partial<Seen>
  /** @returns undefined where the type does not state it, or nobody looked: then it rules nothing out */
  readonly agrees: (type: ReceiverType, seen: Seen) => boolean | undefined
  /** The type's side of it, after its name: "has 4 servo outputs". */
  readonly has: (type: ReceiverType, catalogue: Catalogue) => string
  /** What was seen: "6 servo outputs". */
  readonly saw: (seen: Seen, catalogue: Catalogue) => string
}

const many = (n: number, one: string) => `${n} ${one}${n === 1 ? '' : 's'}`
const bandWord = (band: string) => band.replace(/(\d)([A-Z])/, '$1 $2')
const same = <T>(stated: Known<T> | undefined, seen: Known<T>): boolean | undefined =>
  stated === undefined || !isKnown(stated) || !isKnown(seen) ? undefined : stated === seen
const connectorName = (catalogue: Catalogue, id: string) =>
  catalogue.connectors.find(c => c.id === id)?.name ?? id

/** Distinct known numbers, the smallest first. */
const numbersOf = (types: readonly ReceiverType[], of: (type: ReceiverType) => Known<number> | undefined) =>
  [
    ...new Set(
      types
        .map(of)
        .filter(n => n !== undefined)
        .filter(isKnown<number>),
    ),
  ].sort((a, b) => a - b)

/** Ends whose bared length says the band: they are a quarter of a wave long, 31 mm at 2441 MHz, 86 mm at 867 MHz. */
const hasBaredTip = ({ looks }: ReceiverType) =>
  looks?.antennaKind === 'coaxial' || looks?.antennaKind === 'wire'
const tipAgrees = (type: ReceiverType, { antennaTip }: Seen): boolean | undefined => {
  if (!isKnown(antennaTip) || !hasBaredTip(type)) return undefined
  return type.bands.some(band => (band === '2.4GHz') === (antennaTip === 'short'))
}

/** The easiest to look at first. */
export const LOOKS: readonly Look[] = [
  {
    name: 'outputs',
    text: 'How many servo outputs are there?',
    look: 'Count the rows of pins, or the sockets, that a servo plug goes into.',
    choices: possible =>
      numbersOf(possible, t => t.looks?.outputs).map(n => ({ value: String(n), label: many(n, 'output') })),
    other: { label: 'Another number', unit: 'outputs', least: 0, most: 64 },
    read: value => ({ outputs: Number(value) }),
    agrees: (type, seen) => same(type.looks?.outputs, seen.outputs),
    has: type => `has ${many(Number(type.looks?.outputs), 'servo output')}`,
    saw: seen => many(Number(seen.outputs), 'servo output'),
  },
  {
    name: 'antennaCount',
    text: 'How many antennas come out of it?',
    look: 'Follow each wire to its end. A lead with a plug is no antenna.',
    choices: () =>
      [0, 1, 2, 3, 4].map(n => ({ value: String(n), label: n === 0 ? 'none' : many(n, 'antenna') })),
    read: value => ({ antennaCount: Number(value) }),
    agrees: (type, seen) => same(type.looks?.antennaCount, seen.antennaCount),
    has: type =>
      type.looks?.antennaCount === 0
        ? 'has no antenna outside'
        : `has ${many(Number(type.looks?.antennaCount), 'antenna')}`,
    saw: seen =>
      seen.antennaCount === 0 ? 'no antenna outside' : many(Number(seen.antennaCount), 'antenna'),
  },
  {
    name: 'antennaKind',
    text: 'What do its antennas look like?',
    look: 'Look at the last few centimetres of one of them. Do not cut anything open.',
    choices: () => antennaKindSchema.options.map(value => ({ value, label: antennaKindWords[value] })),
    read: value => ({ antennaKind: antennaKindSchema.parse(value) }),
    agrees: (type, seen) => same(type.looks?.antennaKind, seen.antennaKind),
    has: type => `has the antenna “${antennaKindWords[antennaKindSchema.parse(type.looks?.antennaKind)]}”`,
    saw: seen => `antenna: ${antennaKindWords[antennaKindSchema.parse(seen.antennaKind)]}`,
  },
  {
    name: 'connectorId',
    text: 'Which connector does the update cable go into?',
    look: 'Look straight into it and compare the pins.',
    choices: (_, { connectors }) => connectors.map(({ id, name }) => ({ value: id, label: name })),
    read: value => ({ connectorId: value }),
    agrees: (type, seen) => same(type.connectorId, seen.connectorId),
    has: (type, catalogue) => `takes the connector “${connectorName(catalogue, type.connectorId)}”`,
    saw: (seen, catalogue) => `connector: ${connectorName(catalogue, seen.connectorId)}`,
  },
  {
    name: 'antennaTip',
    text: 'How long is the bared end of an antenna?',
    look: 'Hold a ruler to the last, thinner part of it.',
    choices: () => antennaTipSchema.options.map(value => ({ value, label: antennaTipWords[value] })),
    read: value => ({ antennaTip: antennaTipSchema.parse(value) }),
    agrees: tipAgrees,
    has: type => `works on ${type.bands.map(bandWord).join(' and ')}, which asks for another length`,
    saw: ({ antennaTip }) => `antenna ${antennaTipWords[antennaTipSchema.parse(antennaTip)]}`,
  },
  {
    name: 'lengthMillimetres',
    text: 'How long is its case?',
    look: 'Hold a ruler to the long side, without pins and wires. Three millimetres more or less do not matter.',
    choices: possible =>
      numbersOf(possible, t => t.looks?.lengthMillimetres).map(n => ({
        value: String(n),
        label: `about ${n} mm`,
      })),
    other: { label: 'Another length', unit: 'mm', least: 5, most: 300 },
    read: value => ({ lengthMillimetres: Number(value) }),
    agrees: ({ looks }, { lengthMillimetres, withinMillimetres }) =>
      looks === undefined || !isKnown(looks.lengthMillimetres) || !isKnown(lengthMillimetres)
        ? undefined
        : Math.abs(looks.lengthMillimetres - lengthMillimetres) <= withinMillimetres,
    has: type => `is ${type.looks?.lengthMillimetres} mm long`,
    saw: seen => `about ${seen.lengthMillimetres} mm long`,
  },
  {
    name: 'band',
    text: 'Which band is it for?',
    look: 'The box, the bill, or the radio it flew with may say it.',
    choices: () => bandSchema.options.map(value => ({ value, label: bandWord(value) })),
    read: value => ({ band: bandSchema.parse(value) }),
    agrees: (type, { band }) => (isKnown(band) ? type.bands.includes(band) : undefined),
    has: type => `works on ${type.bands.map(bandWord).join(' and ')}`,
    saw: ({ band }) => `for ${bandWord(band)}`,
  },
]

/** The field of the bench that the answer goes into. */
export const factOf = (look: LookName): string => `receiver.seen.${look}`
