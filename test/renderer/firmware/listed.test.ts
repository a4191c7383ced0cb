import { describe, expect, it } from 'vitest'
import {
  countWords,
  filterListed,
  gapsOf,
  kib,
  listImages,
  sourcesOf,
} from '../../../renderer/firmware/listed.ts'
import { bench, entryFor, listFor, typeOf } from './sources.ts'

const names = (list: readonly { name: string }[]) => list.map(one => one.name)
const all = { text: '', typeId: undefined }

describe('what the list shows', () => {
  it('is the images of bench and library together, the newest that fits first', () => {
    const list = listFor('wren-trainer', [entryFor('new.hex'), entryFor('old.hex', { version: '2.2.0' })])
    expect(names(list).slice(0, 5)).toEqual([
      'new.hex',
      'Wren 6, 2.4.0',
      'Wren 6, 2.3.0',
      'old.hex',
      'Wren 6, 2.1.0',
    ])
    expect(list[0]).toMatchObject({
      standing: 'fits',
      typeName: 'Aldwick Wren 6',
      choice: { kind: 'library' },
    })
    expect(list[1].choice).toEqual({ kind: 'bench', imageId: 'wren-6-2.4.0' })
  })

  it('never takes for fine what is not known', () => {
    const list = listFor('wren-trainer', [entryFor('bare.hex', {}, false)])
    const bare = list.find(one => one.name === 'bare.hex')!
    expect(bare.standing).toBe('not-known')
    // The block inside says type, version, generation, bands, region and air; only the revisions are nobody's word.
    expect(gapsOf(bare.facts)).toEqual(['hardware revisions'])
  })

  it('puts what fits only after a step behind what fits, and says why', () => {
    const entry = entryFor('late.hex', { version: '3.0.0', receiverFirmware: '>=2.4.0' })
    const late = listFor('wren-trainer', [entry]).find(one => one.name === 'late.hex')!
    expect(late.standing).toBe('after-step')
    expect(late.stepFirst).toBe('The image goes on firmware >=2.4.0 only; the receiver runs 2.1.0.')
    expect(names(listFor('wren-trainer', [entry]))[3]).toBe('late.hex')
    const unmarked = listFor('wren-unmarked', [entry]).find(one => one.name === 'late.hex')!
    expect(unmarked.standing).toBe('not-known')
  })

  it('ranks by the route', () => {
    const entry = entryFor('cable-only.hex', { wirelessCapable: false })
    const by = (route: 'cable' | 'wireless') =>
      listFor('wren-trainer', [entry], route).find(one => one.name === 'cable-only.hex')!.standing
    expect([by('cable'), by('wireless')]).toEqual(['fits', 'does-not-fit'])
  })

  it('is empty for a receiver that is not there', () => {
    const sources = sourcesOf(bench, [], typeOf('aldwick-wren-6'))
    expect(listImages(bench, 'wren-trainer', 'cable', sources)).toHaveLength(12)
    expect(listImages(bench, 'nobody', 'cable', sources)).toEqual([])
  })
})

describe('the search', () => {
  const list = listFor('wren-trainer', [entryFor('trial build.hex', { version: '2.6.0' })])
  it.each([
    ['wren 2.3', ['Wren 6, 2.3.0']],
    ['TRIAL', ['trial build.hex']],
    ['library', ['trial build.hex']],
    ['curlew does not fit', ['Curlew 12, 2.2.0']],
    ['no such thing', []],
  ])('for “%s” finds every word in name, type, version, place or verdict', (text, found) => {
    expect(names(filterListed(list, { ...all, text }))).toEqual(found)
  })

  it('leaves out what is for another type, but not what nobody has said the type of', () => {
    const mystery = { ...list[0], name: 'mystery', facts: { ...list[0].facts, typeId: 'unknown' } }
    const own = filterListed([...list, mystery], { ...all, typeId: 'aldwick-wren-6' })
    expect(own.map(one => one.typeName)).toEqual(Array(5).fill('Aldwick Wren 6'))
    expect(names(own)).toContain('mystery')
  })

  it('gives back the very list where nothing is asked for', () => {
    expect(filterListed(list, all)).toBe(list)
  })
})

describe('words', () => {
  it('count by verdict and leave out what there is none of', () => {
    expect(countWords(listFor('wren-trainer', []))).toBe('3 fit, 9 do not fit')
    expect(countWords(listFor('wren-trainer', []).slice(0, 1))).toBe('1 fits')
    expect(countWords([])).toBe('')
  })
  it('round lengths up, so that nothing has 0 KiB', () => {
    expect([kib(1), kib(1024), kib(1025), kib(4_000_000)]).toEqual(['1 octet', '1 KiB', '2 KiB', '3,907 KiB'])
  })
})
