import { around, type Bench } from '../model/bench.ts'
import type { CautionAnswers, CautionQuestion } from './check.ts'
import type { PlannedWrite } from './ready.ts'

/**
 * Cautions that are acknowledged by deed: questions about what one sees, that cannot be answered without having
 * looked. Common practice, no source; the label on the part and local rules go first.
 */
interface Choice {
  readonly id: string
  readonly label: string
  /** Why it does not go on with this; left out where it does. */
  readonly stops?: string
}
export interface Caution {
  readonly id: string
  readonly question: string
  readonly look: string
  readonly choices: readonly Choice[]
}

export interface CautionVerdict {
  readonly holds: 'yes' | 'no' | 'unknown'
  readonly why: readonly string[]
}

const MOST_SUPPLIES = 12
const MOST_TYPES = 6

const REMOVE =
  'Take the propeller or rotor off and lay it on the table: outputs may move when the receiver restarts.'

function drive({ plan, unit }: PlannedWrite): Caution {
  const { model } = around(plan.bench, unit.id)
  if (model?.propellerOrRotor)
    return {
      id: 'drive',
      question: `What is on the motor shaft of ${model.name}?`,
      look: 'Look at the shaft itself, not at the switch.',
      choices: [
        { id: 'propeller', label: 'The propeller or rotor', stops: REMOVE },
        { id: 'bare', label: 'Nothing: the shaft is bare' },
        { id: 'no-motor', label: 'There is no motor in it now' },
      ],
    }
  return {
    id: 'drive',
    question: `What hangs on the outputs of ${unit.nickname}?`,
    look: 'Follow each plug from the receiver to its other end.',
    choices: [
      {
        id: 'motor',
        label: 'A motor or its speed controller',
        stops: 'Unplug the motor or its speed controller: outputs may move when the receiver restarts.',
      },
      { id: 'servos', label: 'Servos, and no motor' },
      { id: 'nothing', label: 'Nothing' },
    ],
  }
}

/** Words of their own for choices that are no supply of the bench. */
const ADAPTER = 'adapter'
const SEVERAL = 'several'
const NONE = 'none'
const OTHER = 'other'

function supply({ plan, unit }: PlannedWrite): Caution {
  const { bench, feed, supplyId, adapterId } = plan
  const adapter = bench.adapters.find(a => a.id === adapterId)?.nickname ?? 'the adapter'
  const wanted = feed === 'through-cable' ? ADAPTER : (supplyId ?? around(bench, unit.id).supply?.id)
  const wantedName = suppliesOf(bench, wanted).find(s => s.id === wanted)?.nickname ?? adapter
  const instead = `The plan says: ${wanted === ADAPTER ? adapter : wantedName}, and nothing else. Change the plan, or what is plugged in.`
  const choice = (id: string, label: string): Choice =>
    id === wanted ? { id, label } : { id, label, stops: instead }
  return {
    id: 'supply',
    question: `What feeds ${unit.nickname} now?`,
    look: 'Follow the positive wire from the receiver to where it begins.',
    choices: [
      choice(ADAPTER, `${adapter}, through its cable, and nothing else`),
      ...suppliesOf(bench, wanted).map(s => choice(s.id, `${s.nickname}, and nothing else`)),
      { id: SEVERAL, label: 'Two of them at the same time', stops: instead },
      {
        id: OTHER,
        label: 'Something else, such as a speed controller, or I cannot tell',
        stops: `${instead} A speed controller feeds the receiver too where it has a supply for it: unplug its lead.`,
      },
      { id: NONE, label: 'Nothing: it is dark', stops: 'Switch on what is to feed it, and look again.' },
    ],
  }
}

/** The first few, and the one that the plan names. */
function suppliesOf({ supplies }: Bench, wanted: string | undefined) {
  const taken = new Set([ADAPTER, SEVERAL, OTHER, NONE])
  return supplies.filter((s, i) => (i < MOST_SUPPLIES || s.id === wanted) && !taken.has(s.id))
}

function reach({ plan, unit }: PlannedWrite): Caution[] {
  const { model } = around(plan.bench, unit.id)
  if (model === undefined) return []
  return [
    {
      id: 'reach',
      question: `Who or what is within reach of the surfaces and the drive of ${model.name}?`,
      look: 'Look all around the model, on the table and under it.',
      choices: [
        { id: 'hands', label: 'My own hands', stops: 'Take your hands off the model while it is written.' },
        { id: 'people', label: 'Somebody else, or an animal', stops: 'Wait until everybody stands clear.' },
        { id: 'things', label: 'Tools or cables', stops: 'Clear them away first.' },
        { id: 'clear', label: 'Nobody and nothing' },
      ],
    },
  ]
}

/** Where the receiver does not say itself what it is, the person has to. */
function label({ plan, type, ready }: PlannedWrite): Caution[] {
  const { chosen } = ready
  const tells =
    chosen.kind === 'bus' ||
    (chosen.dialect.identify?.fields.some(f => f.role === 'type' && plan.expect[f.name] !== undefined) ??
      false)
  if (tells) return []
  const types = plan.bench.catalogue.receiverTypes
  const shown = types.filter((t, i) => i < MOST_TYPES || t.id === type.id)
  const wrong = `The image is for the ${type.maker} ${type.name}. ${chosen.title} cannot ask the receiver what it is, so nobody would notice before it is too late.`
  return [
    {
      id: 'label',
      question: 'What stands on the label of the receiver that is connected?',
      look: 'Read it on the receiver, not on its box.',
      choices: [
        ...shown.map(t => ({
          id: t.id,
          label: `${t.maker} ${t.name}`,
          ...(t.id === type.id ? {} : { stops: wrong }),
        })),
        { id: 'no-label', label: 'Something else, or nothing', stops: wrong },
      ],
    },
  ]
}

/** What nobody knows of image and receiver, and the rules would ask for. */
export interface Unsure {
  readonly rule: string
  readonly claim: string
  readonly sentence: string
}

const looked = ({ rule, claim, sentence }: Unsure): Caution => ({
  id: `rule-${rule}`,
  question: `${sentence} What did you find when you looked?`,
  look: `To be found out: ${claim.charAt(0).toLowerCase()}${claim.slice(1)}`,
  choices: [
    { id: 'not-looked', label: 'I have not looked', stops: `Look first: ${sentence}` },
    { id: 'not-so', label: 'It is not so', stops: 'Take another image.' },
    { id: 'so', label: 'I looked, and it is so' },
  ],
})

export const cautionsOf = (planned: PlannedWrite, unsure: readonly Unsure[] = []): Caution[] => [
  ...label(planned),
  supply(planned),
  drive(planned),
  ...reach(planned),
  ...unsure.map(looked),
]

/** As they cross the contract: which choices are right is not told. */
export const questionOf = ({ id, question, look, choices }: Caution): CautionQuestion => ({
  ...{ id, question, look },
  choices: choices.map(choice => ({ id: choice.id, label: choice.label })),
})

/** Something left out is not known; a wrong answer says why it stops there. */
export function judgeCautions(cautions: readonly Caution[], answers: CautionAnswers): CautionVerdict {
  const open = cautions.filter(c => !c.choices.some(choice => choice.id === answers[c.id]))
  const stops = cautions.flatMap(c => c.choices.find(choice => choice.id === answers[c.id])?.stops ?? [])
  if (stops.length > 0) return { holds: 'no', why: stops }
  return open.length > 0
    ? { holds: 'unknown', why: open.map(c => `Not answered yet: ${c.question}`) }
    : { holds: 'yes', why: [] }
}
