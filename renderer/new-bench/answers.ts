import type { InspectedImage } from '../../shared/image/inspect.ts'
import type { Band, Region, Route } from '../../shared/model/units.ts'

/** What a person has answered so far: a value, `null` for "I don't know", or nothing yet. */
export type Answer<T> = T | null | undefined

export interface ImageAnswer {
  readonly fileName: string
  readonly octets: Uint8Array
  readonly inspected: InspectedImage
}

/** Texts are kept as typed; `readVersion`, `readVolts` and `readName` make something of them. */
export interface Answers {
  readonly radioName?: Answer<string>
  readonly storage?: Answer<'card' | 'inside'>
  readonly modulePlace?: Answer<'internal' | 'external'>
  readonly moduleBand?: Answer<Band>
  readonly moduleFirmware?: Answer<string>
  readonly receiverMaker?: Answer<string>
  readonly receiverName?: Answer<string>
  readonly receiverBand?: Answer<Band>
  /** 1..9 */
  readonly generation?: Answer<number>
  readonly region?: Answer<Region>
  readonly receiverFirmware?: Answer<string>
  readonly model?: Answer<'propeller' | 'no-propeller' | 'none'>
  readonly route?: Answer<Route>
  readonly feed?: Answer<'through-cable' | 'own-supply'>
  readonly feedVolts?: Answer<string>
  readonly labelLeastVolts?: Answer<string>
  readonly labelMostVolts?: Answer<string>
  readonly image?: Answer<ImageAnswer>
}

export const QUESTION_IDS = [
  'radio',
  'storage',
  'module-place',
  'module-band',
  'module-firmware',
  'receiver',
  'receiver-band',
  'generation',
  'region',
  'receiver-firmware',
  'model',
  'route',
  'feed',
  'image',
] as const
export type QuestionId = (typeof QUESTION_IDS)[number]

/** The fields that a question fills; the first one is what has to be answered. */
export const FIELDS = {
  radio: ['radioName'],
  storage: ['storage'],
  'module-place': ['modulePlace'],
  'module-band': ['moduleBand'],
  'module-firmware': ['moduleFirmware'],
  receiver: ['receiverName', 'receiverMaker'],
  'receiver-band': ['receiverBand'],
  generation: ['generation'],
  region: ['region'],
  'receiver-firmware': ['receiverFirmware'],
  model: ['model'],
  route: ['route'],
  feed: ['feed', 'feedVolts', 'labelLeastVolts', 'labelMostVolts'],
  image: ['image'],
} as const satisfies Readonly<Record<QuestionId, readonly (keyof Answers)[]>>

const MOST_LABEL = 80
/** The bus carries each number of a version in two octets. */
const MOST_VERSION_NUMBER = 65_535

/** A name fit for a label, or undefined where there is nothing but blanks. */
export function readName(text: Answer<string>): string | undefined {
  const name = text?.trim().slice(0, MOST_LABEL).trim()
  return name === '' ? undefined : name
}

/**
 * A version as people copy it from a screen: `2.3.1`, `v2.3`, `V 2`. Missing numbers count as 0; none above 65535.
 * @returns three numbers with dots (Semantic Versioning 2.0.0, item 2), or undefined where it cannot be read so
 */
export function readVersion(text: Answer<string>): string | undefined {
  const found = /^v?\s*(\d{1,9})(?:\.(\d{1,9}))?(?:\.(\d{1,9}))?$/i.exec(text?.trim() ?? '')
  if (found === null) return undefined
  const numbers = [found[1], found[2], found[3]].map(n => Number(n ?? 0))
  return numbers.every(n => n <= MOST_VERSION_NUMBER) ? numbers.join('.') : undefined
}

/** Volts with a decimal point or comma, 0.5..60, or undefined. */
export function readVolts(text: Answer<string>): number | undefined {
  const found = /^(\d{1,2}(?:[.,]\d{1,3})?)\s*v?$/i.exec(text?.trim() ?? '')
  if (found === null) return undefined
  const volts = Number(found[1].replace(',', '.'))
  return volts >= 0.5 && volts <= 60 ? volts : undefined
}

/** Marks a whole question as not known. */
export function doNotKnow(answers: Answers, id: QuestionId): Answers {
  return { ...answers, ...Object.fromEntries(FIELDS[id].map(field => [field, null])) }
}

const written = (text: Answer<string>) => text !== null && text !== undefined && text.trim() !== ''

/** Has the question an answer, "I don't know" included? */
export function isAnswered(answers: Answers, id: QuestionId): boolean {
  if (id === 'radio') return answers.radioName === null || written(answers.radioName)
  if (id === 'module-firmware') return answers.moduleFirmware === null || written(answers.moduleFirmware)
  if (id === 'receiver-firmware')
    return answers.receiverFirmware === null || written(answers.receiverFirmware)
  if (id === 'receiver')
    return answers.receiverName === null || written(answers.receiverName) || written(answers.receiverMaker)
  return answers[FIELDS[id][0]] !== undefined
}

export const isNotKnown = (answers: Answers, id: QuestionId): boolean => answers[FIELDS[id][0]] === null

/** What is wrong with an answer, in words for the person, by field. Empty where the next question can come. */
export function mistakes(answers: Answers, id: QuestionId): Partial<Record<keyof Answers, string>> {
  if (!isAnswered(answers, id))
    return {
      [FIELDS[id][0]]:
        id === 'image'
          ? 'Choose a file, or say that you have none yet.'
          : 'Answer, or say that you don’t know.',
    }
  switch (id) {
    case 'module-firmware':
      return versionMistake(answers, 'moduleFirmware')
    case 'receiver-firmware':
      return versionMistake(answers, 'receiverFirmware')
    case 'feed':
      return feedMistakes(answers)
    default:
      return {}
  }
}

/** Can the next question come? */
export const isSettled = (answers: Answers, id: QuestionId): boolean =>
  Object.keys(mistakes(answers, id)).length === 0

function versionMistake(answers: Answers, field: 'moduleFirmware' | 'receiverFirmware') {
  if (answers[field] === null || readVersion(answers[field]) !== undefined) return {}
  return { [field]: 'Numbers with dots, such as 2.3.1. If it looks different, say that you don’t know.' }
}

function feedMistakes(answers: Answers): Partial<Record<keyof Answers, string>> {
  const found: Partial<Record<keyof Answers, string>> = {}
  const fields = ['labelLeastVolts', 'labelMostVolts'] as const
  for (const field of answers.feed === 'own-supply' ? (['feedVolts', ...fields] as const) : fields)
    if (written(answers[field]) && readVolts(answers[field]) === undefined)
      found[field] = 'Volts from 0.5 to 60, such as 6 or 7.4. Leave it empty if you don’t know.'
  const [least, most] = fields.map(field => readVolts(answers[field]))
  if (least !== undefined && most !== undefined && least > most)
    found.labelMostVolts = 'This is less than the other voltage.'
  return found
}
