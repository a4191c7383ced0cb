import type { Bench } from '../model/bench.ts'
import type { ModuleUnit, RadioUnit, ReceiverUnit } from '../model/gear.ts'
import { UNKNOWN } from '../model/units.ts'
import {
  findNamed,
  isOpenCell,
  readBand,
  readDecimal,
  readGeneration,
  readRegion,
  readVersion,
  readYesNo,
  someNames,
} from './unit-cells.ts'
import { fold, type TableKind, TYPE_LIST, type UnitField, unitFields } from './unit-fields.ts'

/** Rows of a table as units of the bench: each with what is wrong in it, in plain words. */

export type TableUnit = ReceiverUnit | ModuleUnit | RadioUnit

export interface UnitRow {
  /** 1-based line of the text. */
  readonly line: number
  /** What the person calls it, as far as that can be seen. */
  readonly name: string
  /** Undefined where the row cannot become a unit; `wrong` says why. Its id is given on adding. */
  readonly unit: TableUnit | undefined
  /** The model that the receiver goes into. */
  readonly modelId: string | undefined
  /** The radio that the module goes into. */
  readonly radioId: string | undefined
  readonly wrong: readonly string[]
  /** What is taken otherwise than it was written, and what stays not known. */
  readonly remarks: readonly string[]
  /** A unit of this name is there already, on the bench or further up in the table. */
  readonly isTwin: boolean
}

export interface RowOptions {
  readonly kind: TableKind
  readonly fields: readonly (UnitField | undefined)[]
  /** For rows that say no type. */
  readonly typeId?: string
}

const MOST_RECEIVERS_OF_MODEL = 4
const MOST_MODULES_OF_RADIO = 4
export const LONGEST_NAME = 80

/** @param rows without the row of heads */
export function readUnits(
  bench: Bench,
  rows: readonly { readonly line: number; readonly cells: readonly string[] }[],
  options: RowOptions,
): UnitRow[] {
  const names = new Set(bench[options.kind].map(unit => fold(unit.nickname)))
  const room = new Map([
    ...bench.models.map((m): [string, number] => [m.id, MOST_RECEIVERS_OF_MODEL - m.receiverIds.length]),
    ...bench.radios.map((r): [string, number] => [
      `radio ${r.id}`,
      MOST_MODULES_OF_RADIO - r.moduleIds.length,
    ]),
  ])
  return rows.map(row => {
    const read = readRow(bench, row, options, room)
    const isTwin = names.has(fold(read.name))
    names.add(fold(read.name))
    return { ...read, isTwin: isTwin && read.unit !== undefined }
  })
}

interface NamedType {
  readonly id: string
  readonly maker: string
  readonly name: string
}

/** Collects what is said about one row while its cells are read. */
class Cells {
  readonly wrong: string[] = []
  readonly remarks: string[] = []
  private readonly byField: ReadonlyMap<UnitField, string>

  constructor(cells: readonly string[], fields: readonly (UnitField | undefined)[]) {
    this.byField = new Map(fields.flatMap((field, i) => (field ? [[field, cells[i] ?? '']] : [])))
  }

  of(field: UnitField): string {
    return this.byField.get(field) ?? ''
  }

  read<T>(field: UnitField, reader: (cell: string) => { value: T; remark?: string }): T {
    const { value, remark } = reader(this.of(field))
    if (remark !== undefined) this.remarks.push(`${unitFields[field].word}: ${remark}.`)
    return value
  }
}

function readRow(
  bench: Bench,
  row: { readonly line: number; readonly cells: readonly string[] },
  { kind, fields, typeId }: RowOptions,
  room: Map<string, number>,
): Omit<UnitRow, 'isTwin'> {
  const cells = new Cells(row.cells, fields)
  const nickname = cells.of('nickname').slice(0, LONGEST_NAME).trim()
  if (nickname === '') cells.wrong.push('It has no name.')
  if (cells.of('nickname').length > LONGEST_NAME)
    cells.remarks.push(`Name: cut after ${LONGEST_NAME} characters.`)
  const type = typeOf(bench, kind, cells, typeId)
  const note = noteOf(cells, type)
  const base = { id: '', nickname, typeId: type?.id ?? '', ...(note === '' ? {} : { note }) }
  const [unit, modelId, radioId] = unitOf(bench, kind, cells, base, room)
  const isWhole = cells.wrong.length === 0
  return {
    line: row.line,
    name: nickname === '' ? `line ${row.line}` : nickname,
    unit: isWhole ? unit : undefined,
    modelId: isWhole ? modelId : undefined,
    radioId: isWhole ? radioId : undefined,
    wrong: cells.wrong,
    remarks: cells.remarks,
  }
}

interface FoundType {
  readonly id: string
  /** What the table called it, where nothing on the bench is called that. */
  readonly lost?: string
}

/** A receiver may be of no known type: it can be told by its looks later. Modules and radios need theirs. */
function typeOf(
  bench: Bench,
  kind: TableKind,
  cells: Cells,
  typeId: string | undefined,
): FoundType | undefined {
  const types: readonly NamedType[] = bench.catalogue[TYPE_LIST[kind]]
  const said = cells.of('type')
  const type = isOpenCell(said) ? types.find(t => t.id === typeId) : findNamed(types, said)
  if (type !== undefined) return { id: type.id }
  const others = types.length === 0 ? '' : ` There are: ${someNames(types)}.`
  if (kind === 'receivers') {
    cells.remarks.push(
      isOpenCell(said)
        ? 'Type: not said, so it stays not known.'
        : `Type: there is no type “${said}”, so it stays not known and the note says what was written.${others}`,
    )
    return { id: UNKNOWN, ...(isOpenCell(said) ? {} : { lost: said }) }
  }
  cells.wrong.push(
    types.length === 0
      ? 'There is no type for it on the bench yet.'
      : isOpenCell(said)
        ? 'It says no type.'
        : `There is no type “${said}”.${others}`,
  )
  return undefined
}

const noteOf = (cells: Cells, type: FoundType | undefined): string =>
  [cells.of('note'), type?.lost && `Type as written: ${type.lost}`].filter(Boolean).join('\n').slice(0, 2000)

interface Base {
  readonly id: string
  readonly nickname: string
  readonly typeId: string
  readonly note?: string
}

function unitOf(
  bench: Bench,
  kind: TableKind,
  cells: Cells,
  base: Base,
  room: Map<string, number>,
): [TableUnit, string | undefined, string | undefined] {
  if (kind === 'receivers') return receiverOf(bench, cells, base, room)
  if (kind === 'modules') return moduleOf(bench, cells, base, room)
  return [radioOf(bench, cells, base), undefined, undefined]
}

function receiverOf(
  bench: Bench,
  cells: Cells,
  base: Base,
  room: Map<string, number>,
): [ReceiverUnit, string | undefined, undefined] {
  const boundTo = named(cells, 'boundTo', bench.modules, 'module', 'so it is bound to none')?.id
  const model = named(cells, 'model', bench.models, 'model', 'so it is in none')
  const revision = cells.of('hardwareRevision').slice(0, LONGEST_NAME)
  const unit: ReceiverUnit = {
    ...base,
    hardwareRevision: isOpenCell(revision) ? UNKNOWN : revision,
    firmware: cells.read('firmware', readVersion),
    region: cells.read('region', readRegion),
    generation: cells.read('generation', readGeneration),
    ...(boundTo === undefined ? {} : { boundTo }),
    factoryFresh: cells.read('factoryFresh', readYesNo) ?? false,
  }
  return [unit, placeIn(cells, room, model?.id, model?.name, 'model', 'four receivers'), undefined]
}

function moduleOf(
  bench: Bench,
  cells: Cells,
  base: Base,
  room: Map<string, number>,
): [ModuleUnit, undefined, string | undefined] {
  const radio = named(cells, 'radio', bench.radios, 'radio', 'so it is in none')
  const bands = bench.catalogue.moduleTypes.find(t => t.id === base.typeId)?.bands
  const band = cells.read('band', readBand)
  if (band !== UNKNOWN && bands !== undefined && !bands.includes(band))
    cells.remarks.push(`Band: its type does not have ${band}.`)
  if (band === UNKNOWN && bands !== undefined && bands.length > 1)
    cells.remarks.push(`Band: not said, so it is taken for ${bands[0]}, the first of its type.`)
  const unit: ModuleUnit = {
    ...base,
    firmware: cells.read('firmware', readVersion),
    region: cells.read('region', readRegion),
    on: cells.read('on', readYesNo) ?? true,
    band: band === UNKNOWN ? (bands?.[0] ?? '2.4GHz') : band,
    generation: cells.read('generation', readGeneration),
  }
  const key = radio && `radio ${radio.id}`
  const place = placeIn(cells, room, key, radio?.nickname, 'radio', 'four modules')
  return [unit, undefined, place === undefined ? undefined : radio?.id]
}

function radioOf(bench: Bench, cells: Cells, base: Base): RadioUnit {
  const full = bench.catalogue.radioTypes.find(t => t.id === base.typeId)?.battery.fullVolts ?? 0
  const volts = cells.read('batteryVolts', readDecimal)
  const isFine = volts !== undefined && volts >= 0 && volts <= 60
  if (volts !== undefined && !isFine) cells.wrong.push(`A battery of ${volts} V cannot be: from 0 to 60 V.`)
  if (volts === undefined) cells.remarks.push(`Battery now: not said, so it is taken for full, ${full} V.`)
  return {
    ...base,
    systemVersion: cells.read('systemVersion', readVersion),
    batteryVolts: isFine ? volts : full,
    moduleIds: [],
  }
}

function named<E extends { readonly id: string; readonly nickname?: string; readonly name?: string }>(
  cells: Cells,
  field: UnitField,
  list: readonly E[],
  what: string,
  so: string,
): E | undefined {
  const cell = cells.of(field)
  if (isOpenCell(cell)) return undefined
  const found = findNamed(list, cell)
  if (found === undefined)
    cells.remarks.push(`${unitFields[field].word}: there is no one ${what} called “${cell}”, ${so}.`)
  return found
}

/** Takes a place in a model or a radio while there is one. */
function placeIn(
  cells: Cells,
  room: Map<string, number>,
  key: string | undefined,
  name: string | undefined,
  what: string,
  full: string,
): string | undefined {
  if (key === undefined || cells.wrong.length > 0) return undefined
  const left = room.get(key) ?? 0
  if (left <= 0) {
    cells.remarks.push(`The ${what} ${name} has ${full} already, so it stays out of it.`)
    return undefined
  }
  room.set(key, left - 1)
  return key
}
