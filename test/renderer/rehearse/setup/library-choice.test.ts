import { describe, expect, it } from 'vitest'
import {
  freshSettings,
  imageChoice,
  requestOf,
  withChoice,
} from '../../../../renderer/rehearse/setup/settings.ts'
import { libraryImagesFor } from '../../../../renderer/rehearse/setup/use-library-images.ts'
import { bench, entryFor } from '../../firmware/sources.ts'

const id = 'a'.repeat(64)
const file = { fileName: 'a.hex', octets: new Uint8Array(4) }

describe('an image chosen in the firmware view', () => {
  it('goes before what was set here, with its route', () => {
    const before = { ...freshSettings, imageId: 'wren-6-2.1.0', file }
    const settings = withChoice(before, { image: { kind: 'library', id }, route: 'wireless' })
    expect(imageChoice(bench, 'wren-trainer', settings)).toEqual({ kind: 'library', id })
    const asked = requestOf(bench, 'wren-trainer', settings)
    expect(asked).toMatchObject({ request: { image: { kind: 'library', id }, route: 'wireless' } })
  })

  it('may be one of the bench', () => {
    const before = { ...freshSettings, libraryId: id }
    const image = { kind: 'bench', imageId: 'wren-6-2.3.0' } as const
    expect(imageChoice(bench, 'wren-trainer', withChoice(before, { image, route: 'cable' }))).toEqual(image)
  })

  it('changes nothing where nothing was chosen', () => {
    expect(withChoice(freshSettings, undefined)).toBe(freshSettings)
  })
})

describe('images of the library in the rehearsal', () => {
  const wren = entryFor('wren.hex')
  const heron = entryFor('heron.hex', { typeId: 'tamsin-heron-8', typeName: 'Heron 8', vendorName: 'Tamsin' })
  const names = (chosenId?: string) =>
    libraryImagesFor([wren, heron], bench, 'wren-trainer', chosenId).map(entry => entry.fileName)

  it('are those for the type of the receiver, and the chosen one whatever it is for', () => {
    expect(names()).toEqual(['wren.hex'])
    expect(names(heron.id)).toEqual(['wren.hex', 'heron.hex'])
    expect(libraryImagesFor([wren], bench, 'nobody', undefined)).toEqual([])
  })
})
