import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { writeBench } from '../../shared/model/bench.ts'
import { writeSheet } from '../../shared/sheet/make-sheet.ts'
import { readSheet } from '../../shared/sheet/read-sheet.ts'
import { MAX_SHEET_FILE_CHARS, typeSheetSchema } from '../../shared/sheet/type-sheet.ts'
import { sheetOf } from './sheets.ts'

const sheet = sheetOf(demoBench().catalogue)
const text = writeSheet(sheet)
const problemsOf = (of: string) => {
  const read = readSheet(of, 'club.types.json')
  return read.ok ? [] : read.problems
}
/** The line, from 1, on which the text of the sheet has this. */
const lineOf = (of: string, what: string) => of.slice(0, of.indexOf(what)).split('\n').length

describe('a type sheet that is read', () => {
  it('is the one that was written, with or without a byte order mark', () => {
    expect(readSheet(text, 'a')).toEqual({ ok: true, value: sheet, warnings: [] })
    expect(readSheet(`\uFEFF${text}`, 'a').ok).toBe(true)
  })

  it('may leave out the lists that it has nothing for', () => {
    const short = '{"format":"preflash-types","formatVersion":1,"title":"T","date":"2026-11-25"}'
    const read = readSheet(short, 'a')
    expect(read.ok && read.value.receiverTypes).toEqual([])
  })

  it('names file, line, field, what was expected and what to do', () => {
    const bad = text.replace('"channels": 6', '"channels": "six"')
    expect(problemsOf(bad)).toEqual([
      expect.objectContaining({
        code: 'sheet.field',
        file: 'club.types.json',
        line: lineOf(bad, '"channels": "six"'),
        field: 'receiverTypes[0].channels',
        message: 'This cannot be "six".',
        expected: 'a number',
        remedy: expect.stringContaining('import the sheet again'),
      }),
    ])
  })

  it('says of a missing field in which group it is missing', () => {
    const bad = text.replace('"sensitivityDbm": -99,', '')
    const [problem] = problemsOf(bad)
    expect(problem).toMatchObject({
      field: 'receiverTypes[0].air.sensitivityDbm',
      message: 'This field is missing.',
    })
    expect(problem.line).toBe(lineOf(bad, '"air": {'))
  })

  it('names the line on which the text stops being JSON', () => {
    const bad = text.replace('"title": "Club types",', '"title": "Club types"')
    expect(problemsOf(bad)).toEqual([
      expect.objectContaining({ code: 'sheet.not-json', line: lineOf(bad, '"author"') }),
    ])
  })

  it('tells a bench, another file and another version apart', () => {
    expect(problemsOf(writeBench(demoBench()))[0].code).toBe('sheet.is-a-bench')
    expect(problemsOf('[]')[0].code).toBe('sheet.not-a-sheet')
    expect(problemsOf('null')[0].code).toBe('sheet.not-a-sheet')
    expect(problemsOf(text.replace('"formatVersion": 1', '"formatVersion": 2'))[0].code).toBe('sheet.version')
  })

  it('refuses an id twice in a list, and a connector that it does not bring', () => {
    const twice = { ...sheet, pairings: [sheet.pairings[0], sheet.pairings[0]] }
    expect(problemsOf(JSON.stringify(twice))[0]).toMatchObject({
      code: 'sheet.duplicate-id',
      field: 'pairings[1].id',
    })
    const loose = problemsOf(JSON.stringify({ ...sheet, connectors: [] }, null, 2))
    expect(loose.map(({ field }) => field)).toContain('radioTypes[0].updatePort.connectorId')
    expect(loose.map(({ field }) => field)).toContain('receiverTypes[0].connectorId')
    expect(loose[0].message).toContain('needs the connector "three-pin"')
  })

  it('tells of fields that it does not know, and leaves them out', () => {
    const read = readSheet(text.replace('"channels": 6', '"channels": 6, "colour": "red"'), 'a')
    expect(read.ok && read.warnings.map(({ field }) => field)).toEqual(['receiverTypes[0].colour'])
    expect(read.ok && read.value).toEqual(sheet)
  })
})

describe('a hostile sheet', () => {
  it('is refused by size before it is parsed', () => {
    expect(problemsOf(' '.repeat(MAX_SHEET_FILE_CHARS + 1))[0].code).toBe('sheet.too-large')
  })

  it.each([
    ['deep lists', `${'['.repeat(500_000)}${']'.repeat(500_000)}`],
    ['deep groups', `${'{"a":'.repeat(300_000)}1${'}'.repeat(300_000)}`],
    [
      'deep lists in a field',
      `{"format":"preflash-types","formatVersion":1,"title":${'['.repeat(500_000)}${']'.repeat(500_000)}}`,
    ],
    ['deep lists that do not end', '['.repeat(1_000_000)],
  ])('of %s gives a problem', (_, hostile) => {
    expect(problemsOf(hostile).length).toBeGreaterThan(0)
  })

  it('of too many entries, or a text too long, gives a problem', () => {
    const many = {
      ...sheet,
      pairings: Array.from({ length: 2001 }, (_, i) => ({ ...sheet.pairings[0], id: `p${i}` })),
    }
    expect(problemsOf(JSON.stringify(many))[0]).toMatchObject({ field: 'pairings' })
    expect(problemsOf(JSON.stringify({ ...sheet, title: 'x'.repeat(10_000) }))[0]).toMatchObject({
      field: 'title',
    })
  })

  it('cannot reach prototypes by its keys or ids', () => {
    const [type] = sheet.receiverTypes
    const hostile = JSON.stringify({ ...sheet, receiverTypes: [{ ...type, id: 'constructor' }] }).replace(
      '{"format"',
      '{"__proto__":{"polluted":true},"constructor":{"prototype":{"polluted":true}},"format"',
    )
    const read = readSheet(hostile, 'a')
    expect(read.ok && read.warnings.map(({ field }) => field)).toEqual(['__proto__', 'constructor'])
    expect(({} as Record<string, unknown>).polluted).toBeUndefined()
    expect(read.ok && Object.getPrototypeOf(read.value)).toBe(Object.prototype)
    expect(read.ok && Object.keys(read.value)).not.toContain('__proto__')
  })

  it('of wrong types everywhere gives problems, at most twenty', () => {
    for (const value of [null, true, 1e308, 'x', [], {}, [[]], { length: 4 }])
      for (const key of Object.keys(typeSheetSchema.shape)) {
        const read = readSheet(JSON.stringify({ ...sheet, [key]: value }), 'a')
        if (!read.ok) expect(read.problems.length).toBeLessThanOrEqual(20)
        else expect(typeSheetSchema.safeParse(read.value).success).toBe(true)
      }
    const wrong = { ...sheet, pairings: Array.from({ length: 500 }, () => 7) }
    expect(problemsOf(JSON.stringify(wrong))).toHaveLength(20)
  })
})
