import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { antennaEnds, caseBox, outputRows, PICTURE } from '../../../../renderer/firmware/pictures/outline.ts'

const inside = (x: number, y: number) => x >= 0 && x <= PICTURE.width && y >= 0 && y <= PICTURE.height

describe('a drawn receiver', () => {
  it('stays on the picture, however large it is and however much is on it', () => {
    const millimetres = fc.option(fc.integer({ min: 5, max: 300 }), { nil: undefined })
    fc.assert(
      fc.property(
        millimetres,
        millimetres,
        fc.integer({ min: 0, max: 4 }),
        fc.integer({ min: 0, max: 32 }),
        (lengthMillimetres, widthMillimetres, count, outputs) => {
          const box = caseBox({ lengthMillimetres, widthMillimetres })
          expect(inside(box.x, box.y) && inside(box.x + box.width, box.y + box.height)).toBe(true)
          for (const { from, to } of antennaEnds(box, count)) {
            expect(from).toBeGreaterThan(box.y)
            expect(from).toBeLessThan(box.y + box.height)
            expect(inside(0, to)).toBe(true)
          }
          const rows = outputRows(box, outputs)
          expect(rows).toHaveLength(outputs)
          for (const { y } of rows) {
            expect(y).toBeGreaterThanOrEqual(box.y)
            expect(y).toBeLessThanOrEqual(box.y + box.height)
          }
        },
      ),
    )
  })

  it('is drawn to one scale: twice as long, twice as wide on the picture', () => {
    const one = caseBox({ lengthMillimetres: 25, widthMillimetres: 15 })
    const two = caseBox({ lengthMillimetres: 50, widthMillimetres: 30 })
    expect(two.width).toBeCloseTo(2 * one.width, 9)
    expect(two.height).toBeCloseTo(2 * one.height, 9)
    expect(one.width / one.height).toBeCloseTo(25 / 15, 9)
  })

  it('has pins that do not run into each other', () => {
    for (const outputs of [1, 4, 8, 12, 16, 24]) {
      const rows = outputRows(caseBox({}), outputs)
      for (let i = 1; i < rows.length; i++)
        if (rows[i].x === rows[i - 1].x) expect(rows[i].y - rows[i - 1].y).toBeGreaterThan(rows[i].size)
    }
  })
})
