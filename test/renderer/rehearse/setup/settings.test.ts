import { describe, expect, it } from 'vitest'
import { faultGroups } from '../../../../renderer/rehearse/setup/faults-by-group.ts'
import {
  activeFaults,
  freshSettings,
  imageChoice,
  imagesFor,
  keepSettings,
  readSeed,
  recallSettings,
  requestOf,
} from '../../../../renderer/rehearse/setup/settings.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { rehearsalRequestSchema } from '../../../../shared/rehearse/report.ts'
import { FAULT_NAMES } from '../../../../shared/sim/faults.ts'

const bench = demoBench()
const file = { fileName: 'a.bin', octets: Uint8Array.of(1, 2) }

function memory(first?: string) {
  const kept = new Map(first === undefined ? [] : [['preflash.rehearse', first]])
  return {
    getItem: (name: string) => kept.get(name) ?? null,
    setItem: (name: string, value: string) => void kept.set(name, value),
  }
}

describe('what is set up', () => {
  it('makes a request that the contract takes', () => {
    for (const settings of [
      freshSettings,
      { ...freshSettings, file, declaredVersion: ' 1.2.3 ' },
      { ...freshSettings, faults: { 'module-off': '', 'power-cut': '3' } },
    ]) {
      const asked = requestOf(bench, 'wren-trainer', settings)
      expect('request' in asked && rehearsalRequestSchema.safeParse(asked.request).success).toBe(true)
    }
  })

  it('remembers an image of the library by what it contains', () => {
    const keep = memory()
    keepSettings(keep, { ...freshSettings, libraryId: 'ab'.repeat(32) })
    expect(recallSettings(keep).libraryId).toBe('ab'.repeat(32))
  })

  it('names what is missing, field by field', () => {
    const asked = requestOf({ ...bench, images: [] }, undefined, { ...freshSettings, seed: '-1' })
    expect('problems' in asked && asked.problems.map(p => p.field)).toEqual(['receiver', 'image', 'seed'])
    const version = requestOf(bench, 'wren-trainer', { ...freshSettings, file, declaredVersion: '2' })
    expect('problems' in version && version.problems.map(p => p.field)).toEqual(['version'])
  })

  it('offers the images of the receiver’s type first, and takes the first of them', () => {
    const { own, other } = imagesFor(bench, 'heron-biplane')
    expect(own.every(i => i.typeId === 'tamsin-heron-8')).toBe(true)
    expect(own.length + other.length).toBe(bench.images.length)
    expect(imageChoice(bench, 'heron-biplane', freshSettings)).toEqual({ kind: 'bench', imageId: own[0].id })
  })

  it('does not rehearse with a receiver whose type nobody knows', () => {
    const asked = requestOf(demoBench(), 'flea-market', { ...freshSettings, imageId: 'wren-6-2.4.0' })
    expect('problems' in asked && asked.problems.map(p => p.field)).toEqual(['receiver'])
    expect('problems' in asked && asked.problems[0].message).toContain('is not known yet')
  })

  it('leaves faults of the other route out, without forgetting them', () => {
    const settings = { ...freshSettings, faults: { 'cable-loose': '5', 'module-off': '' } }
    expect(activeFaults(settings)).toEqual([{ name: 'cable-loose', value: '5' }])
    expect(activeFaults({ ...settings, route: 'wireless' })).toEqual([{ name: 'module-off' }])
  })

  it('is remembered, but for files', () => {
    const keep = memory()
    const settings = {
      ...freshSettings,
      route: 'wireless' as const,
      seed: '42',
      file,
      faults: { interference: '30', 'module-off': '' },
    }
    keepSettings(keep, settings)
    expect(recallSettings(keep)).toEqual({ ...settings, file: undefined })
  })

  it.each(['', 'not json', '{}', '{"route":"boat","seed":"1","faults":[]}', '[]'])(
    'starts afresh from %j',
    text => {
      expect(recallSettings(memory(text))).toEqual(freshSettings)
    },
  )

  it('forgets faults that there are no longer', () => {
    const kept = memory('{"route":"cable","seed":"1","faults":[{"name":"of-yore","value":"1"}]}')
    expect(recallSettings(kept).faults).toEqual({})
  })
})

it.each([
  ['0', 0],
  [' 7 ', 7],
  ['4294967295', 4294967295],
  ['4294967296', undefined],
  ['1.5', undefined],
  ['', undefined],
  ['x', undefined],
])('reads the seed %j as %s', (text, seed) => {
  expect(readSeed(text)).toBe(seed)
})

it('puts every fault into exactly one group', () => {
  const names = faultGroups().flatMap(group => group.faults.map(fault => fault.name))
  expect([...names].sort()).toEqual([...FAULT_NAMES].sort())
})
