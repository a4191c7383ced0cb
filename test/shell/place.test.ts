import { readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { FIRST_PLACE, onScreen, readPlace, writePlace } from '../../main/shell/place.ts'
import type { TestFolder } from '../support/folder.ts'
import { testFolder } from '../support/folder.ts'

describe('the place of the window', () => {
  let folder: TestFolder
  beforeEach(() => {
    folder = testFolder('place')
  })
  afterEach(() => folder.remove())

  it('is remembered, and nothing else is left behind', () => {
    const file = join(folder.path, 'new', 'window.json')
    const place = { x: 10, y: 20, width: 1_000, height: 700, maximized: false }
    expect(writePlace(file, place)).toBe(true)
    expect(readPlace(file)).toEqual(place)
    expect(readdirSync(join(folder.path, 'new'))).toEqual(['window.json'])
  })

  it.each(['', '{', '[]', '{"width":1000}', '{"width":1e9,"height":700}', '{"width":"a","height":1}'])(
    'is the first one when %j is remembered',
    text => {
      const file = join(folder.path, 'window.json')
      writeFileSync(file, text)
      expect(readPlace(file)).toEqual(FIRST_PLACE)
    },
  )

  it('that cannot be written does not keep the window open', () => {
    const file = join(folder.path, 'window.json')
    writeFileSync(file, '')
    expect(writePlace(join(file, 'below-a-file.json'), FIRST_PLACE)).toBe(false)
    expect(writePlace(join(folder.path, 'tiny.json'), { width: 1, height: 1 })).toBe(false)
  })

  it('is the first one when nothing is remembered', () => {
    expect(readPlace(join(folder.path, 'none.json'))).toEqual(FIRST_PLACE)
  })
})

describe('onScreen', () => {
  const screens = [{ x: 0, y: 0, width: 1_920, height: 1_080 }]

  it('keeps a place that can be seen', () => {
    const place = { x: 100, y: 50, width: 1_000, height: 700 }
    expect(onScreen(place, screens)).toEqual(place)
  })

  it.each([
    [2_000, 0],
    [-990, 0],
    [1_900, 10],
    [0, 1_060],
    [0, -100],
  ])('forgets a position at %i, %i, where nobody could take hold of the window', (x, y) => {
    expect(onScreen({ x, y, width: 1_000, height: 700 }, screens)).toEqual({ width: 1_000, height: 700 })
  })

  it('forgets a position on a screen that is no longer there', () => {
    expect(onScreen({ x: 2_500, y: 100, width: 900, height: 700 }, screens)).not.toHaveProperty('x')
  })
})
