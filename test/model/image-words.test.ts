import { describe, expect, it } from 'vitest'
import { imageWords } from '../../shared/model/image-words.ts'

describe('an image in one line', () => {
  it.each([
    ['Wren 6', '2.4.0', 'Wren 6, version 2.4.0'],
    ['Wren 6, 2.4.0', '2.4.0', 'Wren 6, 2.4.0'],
    ['wren-6-v2.4.0.hex', '2.4.0', 'wren-6-v2.4.0.hex'],
    // Part of another version is not the version.
    ['Wren 6, 2.4.1', '2.4', 'Wren 6, 2.4.1, version 2.4'],
    ['Wren 6, 12.4.0', '2.4.0', 'Wren 6, 12.4.0, version 2.4.0'],
    ['Wren 6, 2.4.0-beta', '2.4.0', 'Wren 6, 2.4.0-beta, version 2.4.0'],
    ['Wren 6, 2.4.01, 2.4.0', '2.4.0', 'Wren 6, 2.4.01, 2.4.0'],
    ['my.hex', 'unknown', 'my.hex, version not known'],
    ['my.hex', null, 'my.hex'],
  ])('says the version of %j, %j, once', (name, version, words) => {
    expect(imageWords({ name, version })).toBe(words)
  })
})
