import { describe, expect, it } from 'vitest'
import { placeOf } from '../../../../renderer/firmware/stage/VolumeList.tsx'
import {
  changeWords,
  firstChoice,
  kindWords,
  sizeWord,
  sortVolumes,
} from '../../../../renderer/firmware/stage/volume-words.ts'
import { type ListedVolume, VOLUME_KINDS } from '../../../../shared/api/card.ts'
import { cardVolume } from '../../../support/card-host.ts'

const refusal = { code: 'volume.read-only', message: 'It is read only.' }
const card = (path: string, more: Partial<ListedVolume> = {}): ListedVolume => ({
  ...cardVolume(path),
  ...more,
})

describe('volumes as a person sees them', () => {
  it('each kind has words of its own', () => {
    expect(new Set(VOLUME_KINDS.map(kind => kindWords[kind])).size).toBe(VOLUME_KINDS.length)
  })

  it('hide nothing: what is never for images stands apart, all else in one list, cards first', () => {
    const all = VOLUME_KINDS.toReversed().map(kind => card(`/${kind}`, { kind }))
    const { shown, never } = sortVolumes([...all, card('/locked', { refusal, readOnly: true })])
    expect(shown.map(v => v.path).slice(0, 2)).toEqual(['/card', '/radio-internal'])
    expect(shown.at(-1)?.path).toBe('/locked')
    expect(never.map(v => v.kind)).toEqual(['system', 'network', 'memory'])
    expect(shown.length + never.length).toBe(VOLUME_KINDS.length + 1)
  })

  it('begin with the only card, and with none where there are two or it is a guess', () => {
    expect(firstChoice([card('/a'), card('/b', { kind: 'radio-internal' })])).toBe('/a')
    expect(firstChoice([card('/a'), card('/b')])).toBeUndefined()
    expect(firstChoice([card('/a', { certain: false })])).toBeUndefined()
    expect(firstChoice([card('/a', { refusal })])).toBeUndefined()
  })

  it('tell what came and went', () => {
    const [a, b] = [card('/a', { label: 'CLUB' }), card('/b', { label: undefined })]
    expect(changeWords([a], [a])).toBeUndefined()
    expect(changeWords([a], [b])).toBe('/b is there now. CLUB is gone.')
  })

  it('are a place only while they are there and would do', () => {
    const choice = { volume: '/a', isFolder: false, typed: ' /my/folder ' }
    expect(placeOf(choice, [card('/a')])).toEqual({ path: '/a', folderOnly: false })
    expect(placeOf(choice, [card('/b')])).toBeUndefined()
    const locked = [card('/a', { refusal, readOnly: true })]
    expect(placeOf(choice, locked)).toBeUndefined()
    expect(placeOf(choice, locked, 'read')).toEqual({ path: '/a', folderOnly: false })
    expect(placeOf({ ...choice, isFolder: true }, [])).toEqual({ path: '/my/folder', folderOnly: true })
    expect(placeOf({ ...choice, isFolder: true, typed: ' ' }, [])).toBeUndefined()
  })

  it('never let a system disk be looked at as if it were a locked card', () => {
    const system = card('/', { kind: 'system', readOnly: true, refusal })
    expect(placeOf({ volume: '/', isFolder: false, typed: '' }, [system], 'read')).toBeUndefined()
  })

  it.each([
    [0, '0 octets'],
    [1023, '1,023 octets'],
    [1024, '1 KiB'],
    [1536, '1.5 KiB'],
    [64 * 1024, '64 KiB'],
    [7_948_206_080, '7.4 GiB'],
    [5e15, '4,547 TiB'],
  ])('say %i octets as %s', (bytes, word) => expect(sizeWord(bytes)).toBe(word))
})
