import type { Bench } from '../model/bench.ts'

/** What columns a table of units may have, and how their heads are recognised. */

export const TABLE_KINDS = ['receivers', 'modules', 'radios'] as const
export type TableKind = (typeof TABLE_KINDS)[number]

export type UnitField =
  | 'nickname'
  | 'type'
  | 'hardwareRevision'
  | 'firmware'
  | 'region'
  | 'generation'
  | 'boundTo'
  | 'model'
  | 'factoryFresh'
  | 'on'
  | 'band'
  | 'radio'
  | 'systemVersion'
  | 'batteryVolts'
  | 'note'

interface FieldWords {
  /** What the column is called on the screen. */
  readonly word: string
  /** Heads that mean it, in lower case with single spaces. */
  readonly heads: readonly string[]
}

export const unitFields: Readonly<Record<UnitField, FieldWords>> = {
  nickname: {
    word: 'Name',
    heads: [
      'name',
      'nickname',
      'label',
      'called',
      'piece',
      'unit',
      'what',
      'receiver',
      'module',
      'item',
      'serial',
    ],
  },
  type: {
    word: 'Type',
    heads: [
      'type',
      'kind',
      'make and model',
      'product',
      'maker and type',
      'article',
      'receiver type',
      'module type',
      'radio type',
    ],
  },
  hardwareRevision: {
    word: 'Hardware revision',
    heads: ['hardware revision', 'revision', 'rev', 'hardware', 'hw', 'board', 'hw rev', 'hardware rev'],
  },
  firmware: {
    word: 'Firmware',
    heads: ['firmware', 'fw', 'version', 'software', 'firmware version', 'fw version'],
  },
  region: {
    word: 'Shares the air by',
    heads: ['region', 'shares the air by', 'regulatory domain', 'area', 'listen before talk'],
  },
  generation: {
    word: 'Link generation',
    heads: ['generation', 'gen', 'link generation', 'link', 'protocol generation', 'set for generation'],
  },
  boundTo: {
    word: 'Bound to module',
    heads: [
      'bound to',
      'bound to module',
      'bound',
      'bind',
      'binding',
      'transmitter module',
      'rf module',
      'tx module',
    ],
  },
  model: {
    word: 'In model',
    heads: ['model', 'in model', 'in', 'aircraft', 'plane', 'aeroplane', 'airframe', 'flies in', 'where'],
  },
  factoryFresh: { word: 'Never updated', heads: ['never updated', 'factory fresh', 'new', 'as delivered'] },
  on: { word: 'Switched on', heads: ['on', 'switched on', 'enabled', 'active'] },
  band: { word: 'Band', heads: ['band', 'frequency', 'frequency band'] },
  radio: { word: 'In radio', heads: ['radio', 'in radio', 'transmitter', 'tx', 'handset'] },
  systemVersion: {
    word: 'Radio system',
    heads: ['radio system', 'system', 'system version', 'version', 'firmware', 'os'],
  },
  batteryVolts: {
    word: 'Battery now',
    heads: ['battery', 'battery now', 'battery volts', 'volts', 'voltage', 'pack'],
  },
  note: { word: 'Note', heads: ['note', 'notes', 'remark', 'remarks', 'comment', 'comments'] },
}

export const fieldsOf: Readonly<Record<TableKind, readonly UnitField[]>> = {
  receivers: [
    'nickname',
    'type',
    'hardwareRevision',
    'firmware',
    'region',
    'generation',
    'boundTo',
    'model',
    'factoryFresh',
    'note',
  ],
  modules: ['nickname', 'type', 'firmware', 'region', 'on', 'band', 'generation', 'radio', 'note'],
  radios: ['nickname', 'type', 'systemVersion', 'batteryVolts', 'note'],
}

export const TYPE_LIST = { receivers: 'receiverTypes', modules: 'moduleTypes', radios: 'radioTypes' } as const

/** As it is compared: lower case, without accents, marks and doubled space. */
export const fold = (text: string): string =>
  text
    .normalize('NFKD')
    .replace(/\p{Mark}/gu, '')
    .toLowerCase()
    .replace(/[^\p{Letter}\p{Number}.+]+|\.(?!\d)/gu, ' ')
    .replace(/ {2,}/g, ' ')
    .trim()

/** The field that a head means; heads in brackets such as "Battery (V)" count without them. */
export function fieldOfHead(kind: TableKind, head: string): UnitField | undefined {
  const said = fold(head.replace(/[([].*$/, ''))
  if (said === '') return undefined
  const fields = fieldsOf[kind]
  const exact = fields.find(field => unitFields[field].heads.includes(said))
  if (exact !== undefined) return exact
  const inside = (whole: string, part: string) => ` ${whole} `.includes(` ${part} `)
  const scored = fields.flatMap(field =>
    unitFields[field].heads
      .filter(known => known.length > 2 && (inside(said, known) || inside(known, said)))
      .map(known => ({ field, length: known.length })),
  )
  return scored.toSorted((a, b) => b.length - a.length)[0]?.field
}

const VERSION = /^v?\d+(\.\d+){1,2}([-+].*)?$/i

/** What a column of a table without heads may be, judged by what stands in it. */
function looksLike(bench: Bench, kind: TableKind, field: UnitField, cells: readonly string[]): number {
  const filled = cells.filter(cell => cell !== '')
  if (filled.length === 0) return 0
  const names = (list: readonly { id: string; nickname?: string; name?: string; maker?: string }[]) =>
    new Set(
      list.flatMap(e => [e.id, e.nickname ?? '', e.name ?? '', `${e.maker ?? ''} ${e.name ?? ''}`].map(fold)),
    )
  const lists: Partial<Record<UnitField, ReadonlySet<string>>> = {
    type: names(bench.catalogue[TYPE_LIST[kind]]),
    boundTo: names(bench.modules),
    model: names(bench.models),
    radio: names(bench.radios),
  }
  const tests: Partial<Record<UnitField, (cell: string) => boolean>> = {
    firmware: cell => VERSION.test(cell),
    systemVersion: cell => VERSION.test(cell),
    generation: cell => /^(g|gen|generation)?\.? ?[1-9]$/i.test(cell),
    region: cell => /^(lbt|listen|hopping|fcc|etsi)/i.test(cell),
    band: cell => /^(2[.,]4|868|915) ?(g|m)/i.test(cell),
    batteryVolts: cell => /^\d+[.,]\d+ ?v?$/i.test(cell),
  }
  const test =
    tests[field] ?? (lists[field] && ((cell: string) => cell !== '' && lists[field]?.has(fold(cell))))
  return test ? filled.filter(cell => test(cell)).length / filled.length : 0
}

export interface ColumnGuess {
  readonly hasHead: boolean
  /** One for each column; undefined for what is not taken. */
  readonly fields: readonly (UnitField | undefined)[]
}

/** Finds out whether the first row holds heads, and what each column is. Each field at most once. */
export function guessColumns(
  bench: Bench,
  kind: TableKind,
  rows: readonly (readonly string[])[],
): ColumnGuess {
  const [first = []] = rows
  const used = new Set<UnitField>()
  const once = (field: UnitField | undefined) => {
    if (field === undefined || used.has(field)) return undefined
    used.add(field)
    return field
  }
  const heads = first.map(head => fieldOfHead(kind, head))
  const exact = first.filter(head =>
    fieldsOf[kind].some(field => unitFields[field].heads.includes(fold(head))),
  )
  if (exact.length >= Math.max(1, Math.ceil(first.filter(Boolean).length / 2)) || isHead(heads, first))
    return { hasHead: true, fields: heads.map(once) }
  const fields: (UnitField | undefined)[] = first.map((_, column) => {
    const cells = rows.map(row => row[column] ?? '')
    const scored = fieldsOf[kind]
      .filter(field => !used.has(field))
      .map(field => ({ field, score: looksLike(bench, kind, field, cells) }))
      .toSorted((a, b) => b.score - a.score)[0]
    return scored && scored.score >= 0.5 ? once(scored.field) : undefined
  })
  // What is left and differs from row to row is most likely what the person calls it.
  const free = fields.findIndex(
    (field, i) => field === undefined && new Set(rows.map(row => row[i])).size === rows.length,
  )
  return { hasHead: false, fields: fields.map((field, i) => (i === free ? once('nickname') : field)) }
}

const isHead = (heads: readonly (UnitField | undefined)[], first: readonly string[]) =>
  heads.filter(Boolean).length >= 2 && !first.some(cell => VERSION.test(cell))
