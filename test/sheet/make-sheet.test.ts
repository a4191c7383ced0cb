import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { allKeys, goesAlong, makeSheet, writeSheet } from '../../shared/sheet/make-sheet.ts'
import { connectorsOf, entryName, keyOf, withConnectors } from '../../shared/sheet/type-sheet.ts'
import { HEAD } from './sheets.ts'

const { catalogue } = demoBench()

describe('a sheet of chosen types', () => {
  it('brings along the connector and the pairings of the family, and nothing else', () => {
    const wren = { kind: 'receiverTypes' as const, id: 'aldwick-wren-6' }
    const along = goesAlong(catalogue, [wren])
    expect(along.map(keyOf)).toEqual([
      'connectors three-pin',
      ...catalogue.pairings.filter(p => p.family === 'Skein').map(p => `pairings ${p.id}`),
    ])
    const made = makeSheet(catalogue, [wren], HEAD)
    if (!made.ok) throw new Error(made.problems[0].message)
    expect(made.value.receiverTypes.map(({ id }) => id)).toEqual(['aldwick-wren-6'])
    expect(made.value.connectors).toHaveLength(1)
    expect(made.value.radioTypes).toEqual([])
  })

  it('brings the connector of a radio only where its update port is known', () => {
    const keys = [{ kind: 'radioTypes' as const, id: catalogue.radioTypes[0].id }]
    expect(goesAlong(catalogue, keys).map(keyOf)).toEqual(['connectors three-pin'])
    const dark = {
      ...catalogue,
      radioTypes: [{ ...catalogue.radioTypes[0], updatePort: 'unknown' as const }],
    }
    expect(goesAlong(dark, keys)).toEqual([])
    expect(connectorsOf('radioTypes', dark.radioTypes[0])).toEqual([])
    const others = new Map([['three-pin', 'x']])
    expect(withConnectors('radioTypes', dark.radioTypes[0], others)).toBe(dark.radioTypes[0])
  })

  it('of everything has every list whole', () => {
    const made = makeSheet(catalogue, allKeys(catalogue), HEAD)
    expect(made.ok && made.value).toMatchObject({ ...catalogue, ...HEAD })
  })

  it('is not made without a title, or of a radio whose connector is gone', () => {
    const untitled = makeSheet(catalogue, allKeys(catalogue), { ...HEAD, title: ' ' })
    expect(untitled.ok ? [] : untitled.problems.map(({ field }) => field)).toEqual(['title'])
    const gone = { ...catalogue, connectors: [], receiverTypes: [] }
    const made = makeSheet(gone, allKeys(gone), HEAD)
    expect(made.ok ? '' : made.problems[0].message).toContain('names a connector that is not on this bench')
  })

  it('is written one line a field, and ends with a line break', () => {
    const made = makeSheet(catalogue, [], HEAD)
    expect(made.ok && writeSheet(made.value).split('\n').slice(0, 4)).toEqual([
      '{',
      '  "format": "preflash-types",',
      '  "formatVersion": 1,',
      '  "title": "Club types",',
    ])
    expect(made.ok && writeSheet(made.value).endsWith('}\n')).toBe(true)
  })

  it('calls entries as people do', () => {
    expect(entryName('receiverTypes', catalogue.receiverTypes[0])).toBe('Aldwick Wren 6')
    expect(entryName('connectors', catalogue.connectors[0])).toBe('Three-pin plug, 2.54 mm')
    expect(entryName('pairings', catalogue.pairings[0])).toMatch(/^Skein generation \d, receivers /)
  })
})
