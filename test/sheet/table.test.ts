import { describe, expect, it } from 'vitest'
import { MAX_TABLE_CHARS, MAX_TABLE_ROWS, readTable } from '../../shared/sheet/table.ts'

const read = (text: string) => {
  const result = readTable(text, 'the pasted table')
  if (!result.ok) throw new Error(result.problems[0].code)
  return result.value
}
const cells = (text: string) => read(text).rows.map(row => row.cells)
const problem = (text: string) => {
  const result = readTable(text, 'the pasted table')
  return result.ok ? undefined : result.problems[0]
}

/** The examples of RFC 4180, section 2, as they stand there; CRLF is written out. */
describe('RFC 4180, section 2', () => {
  it('1: each record on a line of its own', () =>
    expect(cells('aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n')).toEqual([
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]))

  it('2: the last record may or may not end with a line break', () =>
    expect(cells('aaa,bbb,ccc\r\nzzz,yyy,xxx')).toEqual(cells('aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n')))

  it('3: a header line looks like any other', () =>
    expect(cells('field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n')).toHaveLength(3))

  it('5: fields may be enclosed in double quotes', () =>
    expect(cells('"aaa","bbb","ccc"\r\nzzz,yyy,xxx')).toEqual([
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]))

  it('6: with line breaks, double quotes and commas inside', () =>
    expect(cells('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx')).toEqual([
      ['aaa', 'b\r\nbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ]))

  it('7: a double quote inside is escaped by another', () =>
    expect(cells('"aaa","b""bb","ccc"')).toEqual([['aaa', 'b"bb', 'ccc']]))

  it('4, on one point more forgiving: space around a cell does not count', () =>
    expect(cells('aaa , bbb\n')).toEqual([['aaa', 'bbb']]))
})

/** What spreadsheets put on the clipboard and into files: common practice, no source. */
describe('a table of a spreadsheet', () => {
  it.each([
    [
      'tabs',
      'a\tb, c; d\n1\t2,5\n',
      '\t',
      [
        ['a', 'b, c; d'],
        ['1', '2,5'],
      ],
    ],
    [
      'semicolons beside decimal commas',
      'a;b\n1,5;2,5\n',
      ';',
      [
        ['a', 'b'],
        ['1,5', '2,5'],
      ],
    ],
    [
      'commas',
      'a,b\n1.5,"2,5"\n',
      ',',
      [
        ['a', 'b'],
        ['1.5', '2,5'],
      ],
    ],
    ['one column', 'Wren one\nWren two', '\t', [['Wren one'], ['Wren two']]],
  ])('divided by %s', (_, text, delimiter, expected) => {
    expect(read(text).delimiter).toBe(delimiter)
    expect(cells(text)).toEqual(expected)
  })

  it('keeps the line of each row, over empty rows and cells of several lines', () => {
    const { rows } = read('a\tb\n\n"x\ny"\tz\n\t\nc\td')
    expect(rows.map(row => row.line)).toEqual([1, 3, 6])
  })

  it('fills short rows up, and takes line breaks of any system and a byte order mark', () => {
    expect(cells('\uFEFFa,b,c\rd\n')).toEqual([
      ['a', 'b', 'c'],
      ['d', '', ''],
    ])
  })

  it('bears a quotation mark inside a bare cell', () =>
    expect(cells('5" prop,b')).toEqual([['5" prop', 'b']]))
})

describe('a table that cannot be taken', () => {
  it('names the line on which a quotation mark opens for good', () =>
    expect(problem('a,b\nc,"d\ne,f\n')).toMatchObject({ code: 'table.open-quote', line: 2 }))

  it.each([
    ['nothing', ' \n\t\n', 'table.empty'],
    ['too many characters', 'x'.repeat(MAX_TABLE_CHARS + 1), 'table.too-large'],
    ['too many rows', 'a,b\n'.repeat(MAX_TABLE_ROWS + 1), 'table.too-large'],
    ['too many columns', ','.repeat(64).concat('x'), 'table.too-large'],
    ['a cell too long', `a,${'x'.repeat(2001)}`, 'table.cell-too-long'],
  ])('of %s', (_, text, code) => expect(problem(text)?.code).toBe(code))

  it('is as large as is allowed', () => {
    expect(read('a,b\n'.repeat(MAX_TABLE_ROWS)).rows).toHaveLength(MAX_TABLE_ROWS)
    expect(read('"'.repeat(1000)).rows).toHaveLength(1)
  })
})
