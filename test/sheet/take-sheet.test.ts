import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { type Bench, checkBench } from '../../shared/model/bench.ts'
import {
  compareSheet,
  type Decision,
  type Decisions,
  theirPaths,
  usualDecision,
} from '../../shared/sheet/compare.ts'
import { differences, taking } from '../../shared/sheet/differences.ts'
import { saysTheSame } from '../../shared/sheet/equal.ts'
import { writeSheet } from '../../shared/sheet/make-sheet.ts'
import { readSheet } from '../../shared/sheet/read-sheet.ts'
import { sourceOf, takeSheet } from '../../shared/sheet/take-sheet.ts'
import { keyOf, SHEET_KINDS, type TypeSheet } from '../../shared/sheet/type-sheet.ts'
import { catalogues, emptyBench, sheetOf } from './sheets.ts'

const bench = demoBench()
const sheet = sheetOf(bench.catalogue)
const WREN = 'receiverTypes aldwick-wren-6'
const PLUG = 'connectors three-pin'

/** The sheet with the Wren 6 described otherwise. */
const withWren = (change: object, of: TypeSheet = sheet): TypeSheet => ({
  ...of,
  receiverTypes: of.receiverTypes.map(t => (t.id === 'aldwick-wren-6' ? { ...t, ...change } : t)),
})
const decide = (...pairs: [string, Decision][]): Decisions => new Map(pairs)
const compared = (of: TypeSheet, key: string, on: Bench = bench, decisions: Decisions = new Map()) => {
  const found = compareSheet(on.catalogue, of, decisions).find(one => keyOf(one.key) === key)
  if (found === undefined) throw new Error(`no ${key}`)
  return found
}
const taken = (on: Bench, of: TypeSheet, decisions: Decisions = new Map()) => {
  const result = takeSheet(on, of, decisions)
  if (!result.ok) throw new Error(result.problems[0].message)
  return result.value
}
const wrenOf = (on: Bench) => on.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')!

describe('a sheet held against a bench', () => {
  it('that it was made of is the same throughout', () => {
    expect(new Set(compareSheet(bench.catalogue, sheet, new Map()).map(one => one.standing))).toEqual(
      new Set(['same']),
    )
    expect(taken(bench, sheet)).toMatchObject({ added: 0, changed: 0 })
  })

  it('is new where neither the id nor the name is there', () => {
    expect(new Set(compareSheet(emptyBench().catalogue, sheet, new Map()).map(one => one.standing))).toEqual(
      new Set(['new']),
    )
  })

  it('knows a type by its name where the ids differ', () => {
    const renamed = withWren({ id: 'wren-six', maker: ' ALDWICK', name: 'wren  6' })
    expect(compared(renamed, 'receiverTypes wren-six').mine?.id).toBe('aldwick-wren-6')
  })

  it('is in conflict field by field, not-known values and notes apart', () => {
    const other = withWren({
      channels: 8,
      supply: { ...wrenOf(bench).supply, mostVolts: 6 },
      wirelessUpdate: 'unknown',
      note: 'Theirs.',
      source: { text: 'elsewhere' },
    })
    const found = compared(other, WREN, { ...bench })
    expect(found.standing).toBe('conflict')
    expect(found.differences.map(({ path, how }) => [path, how])).toEqual([
      ['wirelessUpdate', 'theirs-unknown'],
      ['channels', 'conflict'],
      ['supply.mostVolts', 'conflict'],
      ['note', 'gap'],
    ])
    expect(theirPaths(found)).toEqual(['channels', 'supply.mostVolts', 'note'])
    expect(usualDecision({ ...found, differences: [] })).toEqual({ take: 'nothing' })
  })

  it('fills a gap where only mine does not know, and that without being asked', () => {
    const mine = taken(bench, withWren({ wirelessUpdate: 'unknown' })).bench
    const unknowing: Bench = {
      ...mine,
      catalogue: {
        ...mine.catalogue,
        receiverTypes: mine.catalogue.receiverTypes.map(t => ({ ...t, wirelessUpdate: 'unknown' as const })),
      },
    }
    const found = compared(sheet, WREN, unknowing)
    expect(found.standing).toBe('gap')
    expect(usualDecision(found)).toEqual({ take: 'fields', paths: ['wirelessUpdate'] })
    expect(wrenOf(taken(unknowing, sheet).bench).wirelessUpdate).toBe(true)
  })

  it('takes the same id under another name for another thing', () => {
    const found = compared(withWren({ maker: 'Tamsin', name: 'Plover', channels: 9 }), WREN)
    expect(found).toMatchObject({ standing: 'conflict', otherThing: true })
    expect(usualDecision(found)).toEqual({ take: 'as-new' })
  })
})

describe('a conflict', () => {
  const other = withWren({
    channels: 8,
    supply: { ...wrenOf(bench).supply, mostVolts: 6 },
    source: { text: 'Label of mine', date: '2026-01-02' },
  })

  it('is left as it is until somebody decides', () => {
    const { bench: next, changed } = taken(bench, other)
    expect(changed).toBe(0)
    expect(next.catalogue).toEqual(bench.catalogue)
  })

  it('gives one field, and says where that one comes from', () => {
    const { bench: next, label } = taken(
      bench,
      other,
      decide([WREN, { take: 'fields', paths: ['supply.mostVolts'] }]),
    )
    expect(wrenOf(next)).toMatchObject({ channels: 6, supply: { ...wrenOf(bench).supply, mostVolts: 6 } })
    expect(wrenOf(next).source?.text).toBe(
      'Invented for the demo bench.; supply.mostVolts after Label of mine (2026-01-02)',
    )
    expect(label).toBe('Import “Club types”: change 1')
  })

  it('gives everything, and their source with it', () => {
    const found = compared(other, WREN)
    const { bench: next } = taken(bench, other, decide([WREN, { take: 'fields', paths: theirPaths(found) }]))
    expect(wrenOf(next)).toMatchObject({ channels: 8, source: { text: 'Label of mine', date: '2026-01-02' } })
  })

  it('keeps both, the second with an id and a name of its own', () => {
    const { bench: next } = taken(bench, other, decide([WREN, { take: 'as-new' }]))
    expect(wrenOf(next)).toEqual(wrenOf(bench))
    expect(next.catalogue.receiverTypes.at(-1)).toMatchObject({
      id: 'aldwick-wren-6-2',
      name: 'Wren 6 (A. Marsh)',
      channels: 8,
    })
  })

  it('is not taken where the bench would not be valid with it', () => {
    const wrong = withWren({
      flash: { ...wrenOf(bench).flash, pageBytes: 3 * 1024, programBytes: 513 * 1024 },
    })
    const result = takeSheet(bench, wrong, decide([WREN, { take: 'fields', paths: ['flash.pageBytes'] }]))
    expect(result.ok ? [] : result.problems[0]).toMatchObject({
      field: expect.stringContaining('flash'),
      remedy: 'Take another value there, or keep yours.',
    })
  })
})

describe('references', () => {
  const fourPin = {
    ...sheet.connectors[0],
    keyed: false as const,
    pins: sheet.connectors[0].pins.toReversed(),
  }
  const otherPlug: TypeSheet = { ...sheet, connectors: [fourPin] }

  it('follow a connector that is kept beside the other', () => {
    const decisions = decide([PLUG, { take: 'as-new' }])
    const found = compared(otherPlug, WREN, bench, decisions)
    expect(found.differences).toEqual([
      { path: 'connectorId', mine: 'three-pin', theirs: 'three-pin-2', how: 'conflict' },
    ])
    const { bench: next } = taken(
      bench,
      otherPlug,
      decide([PLUG, { take: 'as-new' }], [WREN, { take: 'fields', paths: ['connectorId'] }]),
    )
    expect(wrenOf(next).connectorId).toBe('three-pin-2')
    expect(next.catalogue.connectors.find(c => c.id === 'three-pin-2')).toMatchObject({ keyed: false })
    expect(next.catalogue.receiverTypes.find(t => t.id !== 'aldwick-wren-6')?.connectorId).toBe('three-pin')
  })

  it('of new types lead to the connector of the bench that has the same name', () => {
    const on: Bench = {
      ...emptyBench(),
      catalogue: { ...emptyBench().catalogue, connectors: [{ ...sheet.connectors[0], id: 'my-plug' }] },
    }
    const { bench: next } = taken(on, sheet)
    expect(next.catalogue.connectors.map(({ id }) => id)).toEqual(['my-plug', 'service-four'])
    expect(new Set(next.catalogue.receiverTypes.map(t => t.connectorId))).toEqual(new Set(['my-plug']))
    expect(next.catalogue.radioTypes[0].updatePort).toMatchObject({ connectorId: 'my-plug' })
  })

  it('to a connector that is left out are not taken', () => {
    const result = takeSheet(emptyBench(), sheet, decide([PLUG, { take: 'nothing' }]))
    expect(result.ok ? '' : result.problems[0].message).toContain(
      'needs a connector of this sheet that you left out',
    )
  })
})

describe('any catalogue', () => {
  it('comes out of an empty bench as it went into the sheet, sources apart that it did not name', () => {
    fc.assert(
      fc.property(catalogues, catalogue => {
        const read = readSheet(writeSheet(sheetOf(catalogue)), 'a')
        if (!read.ok) throw new Error(read.problems[0].message)
        const { bench: next } = taken(emptyBench(), read.value)
        for (const kind of SHEET_KINDS)
          expect(next.catalogue[kind]).toEqual(
            catalogue[kind].map(entry => ({ ...entry, source: sourceOf(entry, read.value) })),
          )
      }),
      { numRuns: 100, seed: 3 },
    )
  })

  it('imported twice changes nothing the second time', () => {
    fc.assert(
      fc.property(catalogues, catalogue => {
        const of = sheetOf(catalogue)
        const once = taken(bench, of).bench
        const again = taken(once, of)
        expect(again.bench.catalogue).toEqual(once.catalogue)
      }),
      { numRuns: 50, seed: 4 },
    )
  })

  it('leaves a valid bench, whatever is decided', () => {
    const decisions: fc.Arbitrary<Decision['take']> = fc.constantFrom('nothing', 'as-new', 'fields')
    fc.assert(
      fc.property(catalogues, catalogues, fc.array(decisions, { minLength: 1 }), (mine, theirs, takes) => {
        const on = taken(emptyBench(), sheetOf(mine)).bench
        const of = sheetOf(theirs)
        const chosen = new Map(
          compareSheet(on.catalogue, of, new Map()).map((one, i): [string, Decision] => {
            const take = takes[i % takes.length]
            return [keyOf(one.key), take === 'fields' ? { take, paths: theirPaths(one) } : { take }]
          }),
        )
        const result = takeSheet(on, of, chosen)
        if (result.ok) expect(checkBench(result.value.bench).ok).toBe(true)
        else expect(result.problems[0].code).toBe('sheet.needs-connector')
      }),
      { numRuns: 100, seed: 5 },
    )
  })
})

describe('differences', () => {
  it('take a whole group where one side does not know it, and lists as they are', () => {
    const mine = { port: 'unknown', list: [1, 2], deep: { a: 1, b: 2 } }
    const theirs = { port: { volts: 5 }, list: [2, 1], deep: { a: 1, b: 3 } }
    const found = differences(mine, theirs)
    expect(found.map(({ path, how }) => [path, how])).toEqual([
      ['port', 'gap'],
      ['list', 'conflict'],
      ['deep.b', 'conflict'],
    ])
    expect(taking(mine, theirs, ['port', 'deep.b'])).toEqual({
      ...mine,
      port: { volts: 5 },
      deep: { a: 1, b: 3 },
    })
    expect(mine.deep.b).toBe(2)
  })

  it('are none between a field that is undefined and one that is not there', () => {
    expect(saysTheSame({ a: 1, b: undefined }, { a: 1 })).toBe(true)
    expect(saysTheSame({ a: [1, { b: 2 }] }, { a: [1, { b: 3 }] })).toBe(false)
    expect(saysTheSame([], {})).toBe(false)
    expect(differences({ a: undefined }, {})).toEqual([])
  })
})
