import fc from 'fast-check'
import { expect, it } from 'vitest'
import { gridFor } from '../../../../renderer/rehearse/playback/draw-flash.ts'

it('has a cell for every page, and no empty row', () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 9000 }),
      fc.integer({ min: 50, max: 1500 }),
      fc.integer({ min: 4, max: 200 }),
      (pages, width, height) => {
        const { columns, rows } = gridFor(pages, width, height)
        expect(columns * rows).toBeGreaterThanOrEqual(pages)
        expect(columns * (rows - 1)).toBeLessThan(pages)
      },
    ),
  )
})

it('fills the last row where the number of pages allows it', () => {
  expect(gridFor(512, 500, 56)).toEqual({ columns: 64, rows: 8 })
})
