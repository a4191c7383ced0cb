import type { Answers, QuestionId } from './answers.ts'
import { isNotKnown, readName, readVersion } from './answers.ts'
import { sayBand } from './new-bench.ts'

/** The words of each question. How it is asked follows from `kind`. */
export interface Question {
  readonly id: QuestionId
  /** In the progress list. */
  readonly short: string
  readonly title: string
  readonly help: string
  readonly ask:
    | {
        readonly kind: 'text'
        readonly field: 'radioName' | 'moduleFirmware' | 'receiverFirmware'
        readonly label: string
        readonly hint: string
      }
    | {
        readonly kind: 'choice'
        readonly field: ChoiceField
        readonly choices: readonly Choice[]
        readonly inRow?: true
      }
    | { readonly kind: 'receiver' }
    | { readonly kind: 'feed'; readonly choices: readonly Choice[] }
    | { readonly kind: 'image' }
  /** What must be looked out for, where the answer, or not knowing, calls for it. */
  readonly caution?: (answers: Answers) => string | undefined
  /** "I don’t know" in other words. */
  readonly doNotKnow?: string
}

export type ChoiceField =
  | 'storage'
  | 'modulePlace'
  | 'moduleBand'
  | 'receiverBand'
  | 'generation'
  | 'region'
  | 'model'
  | 'route'
  | 'feed'

export interface Choice {
  readonly value: NonNullable<Answers[ChoiceField]>
  readonly label: string
  readonly more?: string
}

const bands: readonly Choice[] = [
  { value: '2.4GHz', label: '2.4 GHz', more: 'By far the commonest.' },
  { value: '868MHz', label: '868 MHz', more: 'Long range, in Europe.' },
  { value: '915MHz', label: '915 MHz', more: 'Long range, in the Americas and Australia.' },
]

const VERSION_HINT = 'Numbers with dots, such as 2.3.1.'

export const QUESTIONS: readonly Question[] = [
  {
    id: 'radio',
    short: 'Radio',
    title: 'What do you call the radio?',
    help: 'Any name will do. It is how the radio is called on every screen.',
    ask: {
      kind: 'text',
      field: 'radioName',
      label: 'Name of the radio',
      hint: 'What is printed on it, or a nickname.',
    },
  },
  {
    id: 'storage',
    short: 'Card',
    title: 'Is there a memory card in the radio?',
    help: 'The image is put where the radio can read it: on its card, or in storage inside the radio.',
    ask: {
      kind: 'choice',
      field: 'storage',
      choices: [
        { value: 'card', label: 'Yes, there is a card' },
        { value: 'inside', label: 'No, it keeps its files in storage inside' },
      ],
    },
  },
  {
    id: 'module-place',
    short: 'Module',
    title: 'Which RF module does this receiver fly with?',
    help: 'The RF module is the part that transmits. Some radios have one inside, some take one in a bay at the back, some have both.',
    ask: {
      kind: 'choice',
      field: 'modulePlace',
      choices: [
        { value: 'internal', label: 'The one inside the radio' },
        { value: 'external', label: 'One in the bay at the back' },
      ],
    },
  },
  {
    id: 'module-band',
    short: 'Module’s band',
    title: 'On which band does the module transmit?',
    help: 'It is printed on the module or its box, or stands in the radio’s menu.',
    ask: { kind: 'choice', field: 'moduleBand', choices: bands },
  },
  {
    id: 'module-firmware',
    short: 'Module’s firmware',
    title: 'Which firmware does the module run?',
    help: 'Radios show it on the page that is about the module or about versions.',
    ask: { kind: 'text', field: 'moduleFirmware', label: 'Firmware of the module', hint: VERSION_HINT },
  },
  {
    id: 'receiver',
    short: 'Receiver',
    title: 'What is printed on the receiver?',
    help: 'Write it as it stands there. It keeps images for other types away from it.',
    ask: { kind: 'receiver' },
  },
  {
    id: 'receiver-band',
    short: 'Receiver’s band',
    title: 'On which band does the receiver listen?',
    help: 'It is printed on the receiver or its box. Short antennas of about 3 cm mean 2.4 GHz.',
    ask: { kind: 'choice', field: 'receiverBand', choices: bands },
  },
  {
    id: 'generation',
    short: 'Link generation',
    title: 'Which generation of the radio link does it speak?',
    help: 'Makers revise their link now and then, and one revision often cannot talk to another. Count from 1, the oldest. If your maker does not count, say that you don’t know.',
    ask: {
      kind: 'choice',
      field: 'generation',
      inRow: true,
      choices: [1, 2, 3, 4, 5, 6, 7, 8, 9].map(value => ({ value, label: String(value) })),
    },
  },
  {
    id: 'region',
    short: 'Region',
    title: 'How does the receiver share the air?',
    help: 'The rules differ between regions, and so do the images. A receiver for one region does not work with a module for the other.',
    ask: {
      kind: 'choice',
      field: 'region',
      choices: [
        {
          value: 'lbt',
          label: 'Listen before talk',
          more: 'It listens whether the channel is free before it sends. Usual for gear sold in Europe (ETSI EN 300 328).',
        },
        {
          value: 'hopping',
          label: 'Hopping without listening',
          more: 'It changes channel all the time and does not listen first. Usual for gear sold in the United States (47 CFR 15.247).',
        },
      ],
    },
  },
  {
    id: 'receiver-firmware',
    short: 'Receiver’s firmware',
    title: 'Which firmware does the receiver run now?',
    help: 'If it has never been updated, it may be printed on the box. Some radios show it while the receiver is bound.',
    ask: { kind: 'text', field: 'receiverFirmware', label: 'Firmware of the receiver', hint: VERSION_HINT },
  },
  {
    id: 'model',
    short: 'Model',
    title: 'Is the receiver in a model?',
    help: 'Outputs may move when a receiver starts again after an update, and a motor is an output.',
    ask: {
      kind: 'choice',
      field: 'model',
      choices: [
        { value: 'propeller', label: 'Yes, in a model with a propeller or rotor' },
        { value: 'no-propeller', label: 'Yes, in a model without one' },
        { value: 'none', label: 'No, it lies on the table' },
      ],
    },
    caution: answers =>
      answers.model === 'propeller' || answers.model === null
        ? 'Before the real update: propeller or rotor off, and the drive disconnected.'
        : undefined,
  },
  {
    id: 'route',
    short: 'Route',
    title: 'How should the image reach the receiver?',
    help: 'You can rehearse both ways afterwards.',
    ask: {
      kind: 'choice',
      field: 'route',
      choices: [
        {
          value: 'cable',
          label: 'By cable',
          more: 'From the port of the radio into the receiver. Works most often.',
        },
        {
          value: 'wireless',
          label: 'By air',
          more: 'Through the module. The receiver may stay in the model, but everything has to match.',
        },
      ],
    },
  },
  {
    id: 'feed',
    short: 'Supply',
    title: 'What feeds the receiver during the update?',
    help: 'Voltage and polarity are what kills receivers. What its label says goes before anything that stands here.',
    ask: {
      kind: 'feed',
      choices: [
        {
          value: 'through-cable',
          label: 'The radio, through the update cable',
          more: 'Then nothing else may be plugged in: no pack, no regulator.',
        },
        { value: 'own-supply', label: 'A pack or regulator of its own' },
      ],
    },
    caution: answers => {
      if (answers.feed === 'through-cable' && answers.route === 'wireless')
        return 'An update by air needs a supply at the receiver: one of 5 V is assumed.'
      return answers.feed === undefined
        ? undefined
        : 'One supply only, the right way round. A reversed plug destroys a receiver at once.'
    },
  },
  {
    id: 'image',
    short: 'Image file',
    title: 'Have you got the image file?',
    help: 'Intel HEX or raw binary. It is only read; nothing is written to a receiver.',
    ask: { kind: 'image' },
    doNotKnow: 'I have none yet',
  },
]

/** An answer in a word or two, for the progress list; undefined where there is none yet. */
export function sayAnswer(answers: Answers, question: Question): string | undefined {
  if (isNotKnown(answers, question.id)) return question.doNotKnow === undefined ? 'not known' : 'none yet'
  const { ask } = question
  switch (ask.kind) {
    case 'text':
      return ask.field === 'radioName' ? readName(answers.radioName) : readVersion(answers[ask.field])
    case 'receiver': {
      const said = [readName(answers.receiverMaker), readName(answers.receiverName)].filter(Boolean)
      return said.length === 0 ? undefined : said.join(' ')
    }
    case 'image':
      return answers.image?.fileName
    case 'feed':
      return answers.feed === undefined
        ? undefined
        : answers.feed === 'own-supply'
          ? 'its own'
          : 'through the cable'
    case 'choice':
      return sayChoice(answers, ask.field)
  }
}

const words: Readonly<Record<string, string>> = {
  card: 'a card',
  inside: 'storage inside',
  internal: 'inside',
  external: 'in the bay',
  lbt: 'listens first',
  hopping: 'hops',
  propeller: 'with propeller',
  'no-propeller': 'without propeller',
  none: 'on the table',
  cable: 'by cable',
  wireless: 'by air',
}

function sayChoice(answers: Answers, field: ChoiceField): string | undefined {
  const answer = answers[field]
  if (answer === undefined || answer === null) return undefined
  if (field === 'moduleBand' || field === 'receiverBand') {
    const band = answers[field]
    return band ? sayBand(band) : undefined
  }
  return words[String(answer)] ?? String(answer)
}
