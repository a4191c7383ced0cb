import { describe, expect, it } from 'vitest'
import { isSheetFile, readSheetFile, sheetFileName } from '../../../../renderer/fleet/sheet/read-file.ts'
import { demoBench } from '../../../../shared/demo/bench.ts'
import { allKeys, makeSheet, writeSheet } from '../../../../shared/sheet/make-sheet.ts'
import { MAX_SHEET_FILE_CHARS, SHEET_SUFFIX } from '../../../../shared/sheet/type-sheet.ts'

const { catalogue } = demoBench()
const made = makeSheet(catalogue, allKeys(catalogue), { title: 'Club types', date: '2026-11-25' })
const file = (name: string, text: string, size = text.length) => ({ name, size, text: async () => text })

describe('a type sheet from a file', () => {
  it('is read', async () => {
    if (!made.ok) throw new Error(made.problems[0].message)
    const read = await readSheetFile(file('club.types.json', writeSheet(made.value)))
    expect(read.ok && read.value).toEqual(made.value)
  })

  it('is refused by its size before it is read', async () => {
    let wasRead = false
    const large = {
      ...file('x', '', 4 * MAX_SHEET_FILE_CHARS + 1),
      text: async () => {
        wasRead = true
        return ''
      },
    }
    expect(await readSheetFile(large)).toMatchObject({
      ok: false,
      problems: [{ code: 'sheet.too-large', file: 'x' }],
    })
    expect(wasRead).toBe(false)
  })

  it('that has gone in the meantime is said to be unreadable', async () => {
    const gone = { ...file('x', ''), text: () => Promise.reject(new Error('gone')) }
    expect(await readSheetFile(gone)).toMatchObject({ ok: false, problems: [{ code: 'sheet.unreadable' }] })
  })

  it('is known by its name, in any case', () => {
    expect(isSheetFile(`Club${SHEET_SUFFIX.toUpperCase()}`)).toBe(true)
    expect(isSheetFile('club.preflash.json')).toBe(false)
  })
})

describe('the file name of a sheet', () => {
  it.each([
    ['Club types', 'Club-types'],
    ['Für alle: 2026/11', 'Fur-alle-202611'],
    ['../../etc', 'etc'],
    ['漢字', 'types'],
    ['', 'types'],
    ['x'.repeat(200), 'x'.repeat(60)],
  ])('of “%s” is %s', (title, stem) => expect(sheetFileName(title)).toBe(`${stem}${SHEET_SUFFIX}`))
})
