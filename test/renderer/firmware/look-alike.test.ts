import { describe, expect, it } from 'vitest'
import {
  differences,
  lookAlikes,
  nearness,
  standingOut,
  stepsBetween,
} from '../../../renderer/firmware/look-alike.ts'
import { entryFor, listFor } from './sources.ts'

const digestOf = (one: { sha256: string | undefined }) => one.sha256
const kept = (entries: ReturnType<typeof entryFor>[]) =>
  listFor('wren-trainer', entries).filter(one => one.entry !== undefined)
const named = (list: ReturnType<typeof kept>, name: string) => list.find(one => one.name === name)!

describe('steps between two texts', () => {
  // Levenshtein 1966 gives 3 for kitten and sitting; the swap of neighbours is Damerau's addition of 1964.
  it.each([
    ['kitten', 'sitting', 3],
    ['', 'abc', 3],
    ['2.4.0', '2.4.0', 0],
    ['2.1.0', '2.0.1', 2],
    ['ab', 'ba', 1],
  ])('%s to %s takes %i', (a, b, steps) => {
    expect(stepsBetween(a, b, 5)).toBe(steps)
    expect(stepsBetween(b, a, 5)).toBe(steps)
  })

  it('stops counting above the limit', () => {
    expect(stepsBetween('abcdefgh', 'stuvwxyz', 2)).toBe(3)
    expect(stepsBetween('a', 'abcdefgh', 2)).toBe(3)
  })
})

describe('images that look alike', () => {
  const list = kept([
    entryFor('wren-6-2.4.0.hex', { version: '2.4.0' }),
    entryFor('wren-6-2.4.O.hex', { version: '2.4.0', region: 'hopping' }),
    entryFor('wren-8-2.4.0.hex', {
      version: '2.4.0',
      typeId: 'tamsin-heron-8',
      typeName: 'Heron 8',
      vendorName: 'Tamsin',
    }),
    entryFor('something else.hex', { version: '7.0.0' }),
  ])
  const chosen = named(list, 'wren-6-2.4.0.hex')
  const alike = lookAlikes(chosen, list, digestOf)

  it('are found by signs that are read for one another, and by names with one sign changed', () => {
    expect(alike.map(one => one.name)).toEqual(['wren-6-2.4.O.hex', 'wren-8-2.4.0.hex'])
    expect(nearness(chosen, named(list, 'wren-6-2.4.O.hex'))).toBe(0)
    expect(nearness(chosen, named(list, 'something else.hex'))).toBeUndefined()
  })

  it('are found by a version that differs in one sign, whatever the names', () => {
    const two = kept([
      entryFor('a.hex', { version: '2.1.0' }),
      entryFor('download (3).hex', { version: '2.10.0' }),
    ])
    expect(lookAlikes(two[0], two, digestOf)).toHaveLength(1)
  })

  it('are not the same image in another file', () => {
    const [one] = kept([entryFor('wren.hex')])
    const again = { ...one, key: 'bench:again', name: 'wren2.hex' }
    expect(lookAlikes(one, [one, again], digestOf)).toEqual([])
  })

  it('are not told by versions that nobody knows', () => {
    const two = kept([
      entryFor('a.hex', { version: '1.0.0' }),
      entryFor('entirely other.hex', { version: '5.0.0' }),
    ])
    const blank = two.map(one => ({ ...one, facts: { ...one.facts, version: 'unknown' as const } }))
    expect(lookAlikes(blank[0], blank, digestOf)).toEqual([])
  })

  it('say in words what tells them apart', () => {
    expect(differences(chosen, alike[0])).toEqual([
      'How the air is shared: listen-before-talk here, hopping without listening there.',
    ])
    expect(differences(chosen, alike[1])[0]).toBe('The type: Aldwick Wren 6 here, Tamsin Heron 8 there.')
    const [older, newer] = kept([
      entryFor('x.hex', { version: '2.9.0' }),
      entryFor('y.hex', { version: '2.10.0' }),
    ]).sort((a, b) => a.name.localeCompare(b.name))
    expect(differences(older, newer)).toEqual(['The version: 2.9.0 here, 2.10.0 there, which is newer.'])
    expect(differences(newer, older)[0]).toContain('which is older')
  })

  it('say so when only the content differs', () => {
    const [a, b] = kept([
      entryFor('a.hex', { releaseNotes: 'One.' }),
      entryFor('b.hex', { releaseNotes: 'Two.' }),
    ])
    expect(a.sha256).not.toBe(b.sha256)
    expect(differences(a, b)).toEqual(['They say the same of themselves, but their content is not the same.'])
  })
})

describe('what stands out', () => {
  const marked = (text: string, other: string) =>
    standingOut(text, other)
      .map(piece => (piece.differs ? `[${piece.text}]` : piece.text))
      .join('')
  it('is the numbers and words that the other one does not have', () => {
    expect(marked('2.5.0', '2.4.1')).toBe('2.[5].[0]')
    expect(marked('2.4.0', '2.4.0')).toBe('2.4.0')
    expect(marked('bafu-nolin-kari-tozel', 'bafu-nolin-gari-tozel')).toBe('bafu-nolin-[kari]-tozel')
    expect(marked('Aldwick Wren 6', 'Aldwick Wren 8')).toBe('Aldwick Wren [6]')
    expect(marked('version not known', '2.4.0-rc.1')).toBe('[version not known]')
  })
})
