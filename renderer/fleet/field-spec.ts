import { regionWords } from '../../shared/model/units.ts'
import type { Kind } from './kinds.ts'

/** How one field of an entry is called, shown and asked for. The schema alone says what is valid. */
export interface FieldSpec {
  /** Where it stands in the entry, dotted; inside a group or a row, counted from there. */
  readonly path: string
  readonly label: string
  readonly kind:
    | 'text'
    | 'long-text'
    | 'number'
    | 'yes-no'
    | 'choice'
    | 'choices'
    | 'reference'
    | 'references'
    | 'labels'
    | 'group'
    | 'rows'
  readonly section?: string
  readonly unit?: string
  readonly hint?: string
  /** "Not known" is an answer. */
  readonly notKnown?: true
  readonly optional?: true
  /** "Any" is an answer. */
  readonly any?: true
  readonly options?: readonly Option[]
  /** The kind of thing a reference names. */
  readonly to?: Kind
  /** Fields of a group or of each row. */
  readonly fields?: readonly FieldSpec[]
  /** What a new row, or a group that becomes known, starts with. */
  readonly blank?: unknown
  /** The screen shows the value divided by this: 1024 for KiB. */
  readonly scale?: number
  readonly hexadecimal?: true
  /** Most people can leave it as it is: the form folds it away under "More, with usual values". */
  readonly usual?: true
  /** The rows are drawn while one types. */
  readonly drawn?: 'connector'
}

export interface Option {
  readonly value: string | number
  readonly word: string
}

type More = Omit<FieldSpec, 'path' | 'label' | 'kind'>

const of =
  (kind: FieldSpec['kind']) =>
  (path: string, label: string, more: More = {}): FieldSpec => ({ path, label, kind, ...more })

export const text = of('text')
export const longText = of('long-text')
export const number = of('number')
export const yesNo = of('yes-no')
export const choice = of('choice')
export const choices = of('choices')
export const reference = of('reference')
export const references = of('references')
export const labels = of('labels')
export const group = of('group')
export const rows = of('rows')

/** Puts a section's name on each of its fields. */
export const section = (name: string, ...fields: readonly FieldSpec[]): FieldSpec[] =>
  fields.map(field => ({ section: name, ...field }))

/** Marks fields that have a usual value, which the form folds away. */
export const usual = (...fields: readonly FieldSpec[]): FieldSpec[] =>
  fields.map(field => ({ ...field, usual: true }))

const plain = (...words: readonly string[]): Option[] => words.map(word => ({ value: word, word }))
export const words = (record: Readonly<Record<string, string>>): Option[] =>
  Object.entries(record).map(([value, word]) => ({ value, word }))

export const BANDS: readonly Option[] = [
  { value: '2.4GHz', word: '2.4 GHz' },
  { value: '868MHz', word: '868 MHz' },
  { value: '915MHz', word: '915 MHz' },
]
export const REGIONS: readonly Option[] = [
  { value: 'lbt', word: regionWords.lbt },
  { value: 'hopping', word: regionWords.hopping },
]
export const GENERATIONS: readonly Option[] = [1, 2, 3, 4, 5, 6, 7, 8, 9].map(g => ({
  value: g,
  word: String(g),
}))
export const BAYS = plain('internal', 'external')
export const ROLES = plain('signal', 'positive', 'negative')
export const PIN_ROLES: readonly Option[] = [
  ...ROLES,
  ...plain('transmit', 'receive', 'boot', 'reset'),
  { value: 'not-used', word: 'not used' },
]

export const version = (path: string, label: string, more: More = {}): FieldSpec =>
  text(path, label, { hint: 'Three numbers, such as 2.3.1.', ...more })
export const range = (path: string, label: string, more: More = {}): FieldSpec =>
  text(path, label, { hint: 'A range of versions, such as >=4.0.0 <7.0.0.', ...more })

export const note = section('Remarks', longText('note', 'Note', { optional: true }))
export const id = section(
  'Remarks',
  text('id', 'Id', {
    hint: 'For bench files and the command line. Left empty, it is made from the name.',
  }),
)
export const source = section(
  'Source',
  group('source', 'Where this comes from', {
    optional: true,
    fields: [
      text('text', 'Source', { hint: 'A data sheet, a label, a measurement of your own.' }),
      text('date', 'Date of the source', { optional: true, hint: 'Such as 2026-11-25.' }),
    ],
  }),
)
