import { describe, expect, it } from 'vitest'
import {
  filterList,
  filterValues,
  NO_LIST_FILTER,
  readListFilter,
} from '../../../renderer/fleet/list-filter.ts'
import { forgetful } from '../../../renderer/fleet/memory.ts'
import { NO_FILTER, readFilter } from '../../../renderer/fleet/rows.ts'
import { demoBench } from '../../../shared/demo/bench.ts'

const bench = demoBench()

describe('the filter of a list', () => {
  it('lets everything through at first', () => {
    expect(filterList(bench, 'receivers', NO_LIST_FILTER)).toBe(bench.receivers)
  })

  it('wants all words, anywhere in the row, whatever their case and accents', () => {
    const named = (text: string) =>
      filterList(bench, 'receivers', { text, value: '' }).map(entry => entry.nickname)
    expect(named('HÉRON tug')).toEqual(['Heron in the scale tug'])
    expect(named('heron no-such-word')).toEqual([])
  })

  it('finds a receiver by the model that it is in', () => {
    const [model] = bench.models
    const found = filterList(bench, 'receivers', { text: model.name, value: '' }).map(entry => entry.id)
    expect(found).toEqual(expect.arrayContaining([...model.receiverIds]))
  })

  it('takes one value of the first column that many rows share', () => {
    const { field, values } = filterValues(bench, 'receivers')
    expect(field?.path).toBe('typeId')
    expect(values).toEqual(values.toSorted((a, b) => a.localeCompare(b)))
    const counts = values.map(value => filterList(bench, 'receivers', { text: '', value }).length)
    expect(counts.every(count => count > 0 && count < bench.receivers.length)).toBe(true)
    expect(counts.reduce((a, b) => a + b)).toBe(bench.receivers.length)
  })

  it('ignores a kept value that no row has any more', () => {
    expect(filterList(bench, 'receivers', { text: '', value: 'gone' })).toHaveLength(bench.receivers.length)
  })
})

describe('what was kept of a filter', () => {
  it('comes back', () => {
    expect(readListFilter(JSON.stringify({ text: 'a', value: 'b' }))).toEqual({ text: 'a', value: 'b' })
    const filter = { text: 'a', outOfStepOnly: true, radioId: 'tarn' }
    expect(readFilter(JSON.stringify(filter))).toEqual(filter)
  })

  it.each(['', 'null', '{"text":'])('is forgotten where it is none: %j', kept => {
    expect(readListFilter(kept)).toBeUndefined()
    expect(readFilter(kept)).toBeUndefined()
  })

  it('keeps only what is of the right kind', () => {
    expect(readListFilter('{"text": 1, "value": ["x"]}')).toEqual(NO_LIST_FILTER)
    expect(readFilter('{"text": {}, "outOfStepOnly": "yes", "radioId": 3}')).toEqual(NO_FILTER)
  })

  it('is kept under its own key', () => {
    const memory = forgetful()
    expect(memory.getItem('a')).toBeNull()
    memory.setItem('a', 'x')
    expect([memory.getItem('a'), memory.getItem('b')]).toEqual(['x', null])
  })
})
