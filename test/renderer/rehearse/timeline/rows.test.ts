import { expect, it } from 'vitest'
import { rowAt, rowsFor } from '../../../../renderer/rehearse/timeline/rows.ts'

it.each([
  [0, 190],
  [1, 190],
  [1, 400],
  [2, 224],
  [2, 500],
])('%i lanes in %i pixels stand below each other and within the picture', (lanes, height) => {
  const rows = rowsFor(lanes, height)
  expect(rows.filter(row => row.kind === 'wave')).toHaveLength(lanes)
  for (let i = 1; i < rows.length; i++)
    expect(rows[i].top).toBeGreaterThanOrEqual(rows[i - 1].top + rows[i - 1].height)
  const last = rows.at(-1)!
  expect(last.top + last.height).toBeLessThanOrEqual(height)
  for (const row of rows) expect(rowAt(rows, row.top + row.height / 2)).toBe(row)
})
