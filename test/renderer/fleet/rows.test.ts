import { describe, expect, it } from 'vitest'
import { type Filter, filterRows, rowsOf } from '../../../renderer/fleet/rows.ts'
import { standings } from '../../../renderer/fleet/step.ts'
import { demoBench } from '../../../shared/demo/bench.ts'

const bench = demoBench()
const all = rowsOf(bench, standings(bench))
const idsOf = (rows: typeof all) => rows.map(row => row.standing.receiver.id)
const find = (filter: Partial<Filter>) =>
  idsOf(filterRows(bench, all, { text: '', outOfStepOnly: false, radioId: undefined, ...filter }))

describe('the rows of the matrix', () => {
  it('hold every receiver once, model by model, those in no model last', () => {
    expect(idsOf(all).toSorted()).toEqual(bench.receivers.map(r => r.id).toSorted())
    expect(idsOf(all).slice(0, 14)).toEqual(bench.models.flatMap(m => m.receiverIds))
    expect(all.slice(14).map(row => row.model)).toEqual([undefined, undefined, undefined])
  })

  it('mark a second receiver of one model, and list a receiver in two models only once', () => {
    const twins = {
      ...bench,
      models: bench.models.map(m =>
        m.id === 'pylon' ? { ...m, receiverIds: ['wren-trainer', 'wren-pylon', 'wren-new'] } : m,
      ),
    }
    const rows = rowsOf(twins, standings(twins))
    expect(rows).toHaveLength(17)
    const pylon = rows.filter(row => row.model?.id === 'pylon')
    expect(pylon.map(row => row.standing.receiver.id)).toEqual(['wren-pylon', 'wren-new'])
    expect(pylon.map(row => row.continues)).toEqual([false, true])
    const alone = filterRows(twins, rows, { text: 'bag', outOfStepOnly: false, radioId: undefined })
    expect(alone.map(row => row.continues)).toEqual([false])
  })

  it.each([
    ['heron', ['heron-biplane', 'heron-scale', 'heron-heli']],
    ['HERON tug', ['heron-scale']],
    ['tug heron', ['heron-scale']],
    ['helicopter', ['heron-heli']],
    ['long-range', ['curlew-survey']],
    ['1.0.2', ['finch-car']],
    ['868', ['curlew-survey']],
    ['wren-unmarked', ['wren-unmarked']],
    ['nothing like it', []],
  ])('are found by “%s”', (text, ids) => {
    expect(find({ text })).toEqual(ids)
  })

  it('are found whatever accents are typed', () => {
    expect(find({ text: 'Hérôn' })).toEqual(find({ text: 'heron' }))
  })

  it('leave out what is in step, but keep what is not known', () => {
    expect(find({ outOfStepOnly: true })).toEqual([
      'heron-biplane',
      'heron-heli',
      'finch-foamie',
      'finch-car',
      'finch-boat',
      'wren-new',
      'wren-unmarked',
      'flea-market',
    ])
  })

  it('go by the radio that has the module a receiver is bound to', () => {
    expect(find({ radioId: 'fell' })).toEqual([
      'heron-scale',
      'finch-foamie',
      'finch-car',
      'finch-boat',
      'dunlin-ketch',
    ])
    expect(find({ radioId: 'gone' })).toHaveLength(17)
  })
})
