import type { Bench } from '../../shared/model/bench.ts'
import { findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import type { Model } from '../../shared/model/gear.ts'
import { regionWords, UNKNOWN } from '../../shared/model/units.ts'
import { type Standing, stepWords } from './step.ts'

/** One receiver as a row of the matrix. */
export interface Row {
  readonly standing: Standing
  readonly type: ReceiverType | undefined
  /** Undefined for a receiver in no model. */
  readonly model: Model | undefined
  /** The row above is of the same model. */
  readonly continues: boolean
}

/** Every receiver once: model by model, then those in no model. */
export function rowsOf(bench: Bench, standing: ReadonlyMap<string, Standing>): Row[] {
  const rows: Row[] = []
  const placed = new Set<string>()
  const place = (id: string, model: Model | undefined) => {
    const stands = standing.get(id)
    if (stands === undefined || placed.has(id)) return
    placed.add(id)
    const type = findType(bench.catalogue, 'receiverTypes', stands.receiver.typeId) as
      | ReceiverType
      | undefined
    rows.push({
      standing: stands,
      type,
      model,
      continues: model !== undefined && rows.at(-1)?.model === model,
    })
  }
  for (const model of bench.models) for (const id of model.receiverIds) place(id, model)
  for (const receiver of bench.receivers) place(receiver.id, undefined)
  return rows
}

export interface Filter {
  readonly text: string
  readonly outOfStepOnly: boolean
  /** A radio's id: only receivers bound to a module in it. */
  readonly radioId: string | undefined
}

export const NO_FILTER: Filter = { text: '', outOfStepOnly: false, radioId: undefined }

/** The filter as it was kept, or undefined where what was kept is none. */
export function readFilter(kept: string): Filter | undefined {
  try {
    const { text, outOfStepOnly, radioId }: Partial<Record<string, unknown>> = JSON.parse(kept)
    return {
      text: typeof text === 'string' ? text : '',
      outOfStepOnly: outOfStepOnly === true,
      radioId: typeof radioId === 'string' ? radioId : undefined,
    }
  } catch {
    return undefined
  }
}

export const fold = (text: string) =>
  text
    .normalize('NFKD')
    .replace(/\p{Mark}/gu, '')
    .toLowerCase()

/** All words of the search, anywhere in what the row says. "Not known" does not count as in step. */
export function filterRows(bench: Bench, rows: readonly Row[], filter: Filter): Row[] {
  const words = fold(filter.text).split(/\s+/).filter(Boolean)
  const radio = bench.radios.find(r => r.id === filter.radioId)
  const moduleNames = new Map(bench.modules.map(m => [m.id, m.nickname]))
  const kept = rows.filter(({ standing, type, model }) => {
    const { receiver } = standing
    if (filter.outOfStepOnly && standing.step === 'in-step') return false
    if (radio && !radio.moduleIds.includes(receiver.boundTo ?? model?.moduleId ?? '')) return false
    const said = fold(
      [
        receiver.nickname,
        receiver.id,
        receiver.firmware,
        type && `${type.maker} ${type.name} ${type.bands.join(' ')}`,
        model && `${model.name} ${model.kind}`,
        receiver.boundTo && moduleNames.get(receiver.boundTo),
        `gen. ${receiver.generation} generation ${receiver.generation}`.replaceAll(UNKNOWN, 'not known'),
        regionWords[receiver.region],
        receiver.hardwareRevision,
        stepWords[standing.step],
      ].join(' '),
    )
    return words.every(word => said.includes(word))
  })
  return kept.map((row, i) =>
    row.continues && kept[i - 1]?.model !== row.model ? { ...row, continues: false } : row,
  )
}
