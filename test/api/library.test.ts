import { describe, expect, it } from 'vitest'
import { libraryMethods } from '../../shared/api/library.ts'

const id = 'a'.repeat(64)
const ok = (method: keyof typeof libraryMethods, request: unknown) =>
  libraryMethods[method].request.safeParse(request).success

describe('what may be asked of the library', () => {
  it('an image by its digest, and by nothing else', () => {
    expect(ok('library.read', { id })).toBe(true)
    for (const wrong of ['', id.toUpperCase(), `${id}0`, '../x', 5])
      for (const method of ['library.read', 'library.remove', 'library.restore'] as const)
        expect(ok(method, { id: wrong })).toBe(false)
  })

  it('files with a name and octets, not too many and not too large', () => {
    const file = { fileName: 'a.hex', octets: new Uint8Array(4) }
    expect(ok('library.import', { files: [file] })).toBe(true)
    expect(ok('library.import', { files: [] })).toBe(false)
    expect(ok('library.import', { files: [{ ...file, fileName: '' }] })).toBe(false)
    expect(ok('library.import', { files: [{ ...file, octets: 'text' }] })).toBe(false)
    expect(ok('library.import', { files: [{ ...file, octets: new Uint8Array(32 * 1024 * 1024 + 1) }] })).toBe(
      false,
    )
    expect(ok('library.import', { files: Array(501).fill(file) })).toBe(false)
  })

  it('a card, whole or none', () => {
    expect(ok('library.setCard', { id, card: null })).toBe(true)
    expect(ok('library.setCard', { id, card: {} })).toBe(false)
    expect(ok('library.setCard', { id })).toBe(false)
  })
})
