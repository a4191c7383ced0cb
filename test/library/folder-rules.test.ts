import { describe, expect, it } from 'vitest'
import { isNamedAsImage, isNoImage, isPassedOver, unlikely } from '../../shared/library/folder-rules.ts'

describe('what is taken out of a whole folder', () => {
  it.each([
    '.hidden',
    'Thumbs.db',
    '.DS_Store',
    'wren.hex~',
    'wren.hex.part',
    'wren.zip.crdownload',
    'a.TMP',
  ])('passes over %s', name => expect(isPassedOver(name)).toBe(true))
  it.each(['wren.hex', 'part', 'notes.txt', 'temp.bin'])('looks at %s', name =>
    expect(isPassedOver(name)).toBe(false),
  )
  it('leaves aside what is something else, and not what is damaged', () => {
    expect(isNoImage([{ code: 'format.text' }])).toBe(true)
    expect(isNoImage([unlikely('a')])).toBe(true)
    expect(isNoImage([{ code: 'format.text' }, { code: 'hex.checksum' }])).toBe(false)
    expect(isNoImage([{ code: 'format.gzip' }])).toBe(false)
    expect(isNoImage([])).toBe(false)
  })
  it('knows names of raw images', () => {
    expect(isNamedAsImage('a/wren.BIN')).toBe(true)
    expect(isNamedAsImage('holiday.mp4')).toBe(false)
  })
})
