import { failed, type Result, succeeded } from '../model/problem.ts'

/**
 * A table copied from a spreadsheet, or a file of comma-separated values after RFC 4180. Spreadsheets copy with tabs,
 * and write files with commas, or with semicolons where the comma is the decimal mark.
 */

export const MAX_TABLE_CHARS = 1_000_000
export const MAX_TABLE_ROWS = 5000
const MAX_COLUMNS = 64
const MAX_CELL_CHARS = 2000

export type Delimiter = '\t' | ';' | ','

export interface TableRow {
  /** 1-based line of the text on which the row begins. */
  readonly line: number
  /** As many as the widest row has, without space around them. */
  readonly cells: readonly string[]
}

export interface Table {
  readonly delimiter: Delimiter
  readonly columns: number
  /** Rows in which nothing stands are left out. */
  readonly rows: readonly TableRow[]
}

/** In the order in which they win where the text fits several equally well. */
const DELIMITERS: readonly Delimiter[] = ['\t', ';', ',']

/** Rows that are looked at to find out what divides the cells. */
const PROBE_ROWS = 30

/**
 * Reads a table. What divides the cells is found out: what divides most rows into the same number of cells.
 * @param text at most `MAX_TABLE_CHARS` characters, `MAX_TABLE_ROWS` rows
 * @param source what the text is called in messages: a file name, or "the pasted table"
 */
export function readTable(text: string, source: string): Result<Table> {
  if (text.length > MAX_TABLE_CHARS)
    return failed({
      code: 'table.too-large',
      file: source,
      message: 'The table is too large.',
      expected: `at most ${MAX_TABLE_CHARS / 1_000_000} million characters`,
      remedy: 'Copy fewer rows at a time.',
    })
  const plain = text.replace(/^\uFEFF/, '')
  let best: { delimiter: Delimiter; score: number } = { delimiter: '\t', score: -1 }
  for (const delimiter of DELIMITERS) {
    const score = scoreOf([...rowsOf(plain, delimiter, PROBE_ROWS)].filter(isRow))
    if (score > best.score) best = { delimiter, score }
  }
  const rows: TableRow[] = []
  for (const row of rowsOf(plain, best.delimiter, MAX_TABLE_ROWS + 1)) {
    if (!isRow(row))
      return failed({
        code: 'table.open-quote',
        file: source,
        line: row.line,
        message: 'A quotation mark opens here and is never closed.',
        expected: 'a second quotation mark at the end of the cell',
        remedy: 'Close it, or take it out.',
      })
    if (row.cells.some(cell => cell !== '')) rows.push(row)
  }
  if (rows.length === 0)
    return failed({
      code: 'table.empty',
      file: source,
      message: 'There is nothing in it.',
      expected: 'at least one row',
      remedy: 'Copy the rows in your spreadsheet and paste them here.',
    })
  const [first] = rows
  if (rows.length > MAX_TABLE_ROWS || rows.some(row => row.cells.length > MAX_COLUMNS))
    return failed({
      code: 'table.too-large',
      file: source,
      line: rows.length > MAX_TABLE_ROWS ? rows[MAX_TABLE_ROWS].line : first.line,
      message: 'The table is too large.',
      expected: `at most ${MAX_TABLE_ROWS} rows and ${MAX_COLUMNS} columns`,
      remedy: 'Copy fewer at a time.',
    })
  const long = rows.find(row => row.cells.some(cell => cell.length > MAX_CELL_CHARS))
  if (long !== undefined)
    return failed({
      code: 'table.cell-too-long',
      file: source,
      line: long.line,
      message: 'One cell of this row is too long.',
      expected: `at most ${MAX_CELL_CHARS} characters in a cell`,
      remedy: 'Look whether a quotation mark is missing there.',
    })
  const columns = Math.max(...rows.map(row => row.cells.length))
  const filled = rows.map(row => ({
    line: row.line,
    cells: Array.from({ length: columns }, (_, i) => row.cells[i] ?? ''),
  }))
  return succeeded({ delimiter: best.delimiter, columns, rows: filled })
}

interface Unclosed {
  readonly line: number
  readonly cells: undefined
}

const isRow = (row: TableRow | Unclosed): row is TableRow => row.cells !== undefined

/** How many of the rows are divided into the most frequent number of cells, where that is more than one. */
function scoreOf(rows: readonly TableRow[]): number {
  const counts = new Map<number, number>()
  for (const { cells } of rows)
    if (cells.length > 1) counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1)
  return Math.max(0, ...counts.values())
}

/**
 * RFC 4180, section 2: a cell in quotation marks may hold the delimiter, line breaks, and quotation marks doubled. More
 * forgiving than that: any line break ends a row, and a quotation mark inside a bare cell is a character.
 */
function* rowsOf(text: string, delimiter: Delimiter, most: number): Generator<TableRow | Unclosed> {
  let at = 0
  let line = 1
  for (let count = 0; at < text.length && count < most; count++) {
    const start = line
    const cells: string[] = []
    for (;;) {
      const cell = cellAt(text, at, delimiter)
      if (cell === undefined) {
        yield { line: start, cells: undefined }
        return
      }
      for (let i = text.indexOf('\n', at); i >= 0 && i < cell.end; i = text.indexOf('\n', i + 1)) line += 1
      cells.push(cell.value.trim())
      at = cell.end
      if (text[at] !== delimiter) break
      at += 1
    }
    if (text[at] === '\r') at += 1
    if (text[at] === '\n') at += 1
    line += 1
    yield { line: start, cells }
  }
}

function cellAt(
  text: string,
  from: number,
  delimiter: Delimiter,
): { value: string; end: number } | undefined {
  let value = ''
  let at = from
  if (text[at] === '"') {
    for (at += 1; ; ) {
      const close = text.indexOf('"', at)
      if (close < 0) return undefined
      value += text.slice(at, close)
      at = close + 1
      if (text[at] !== '"') break
      value += '"'
      at += 1
    }
  }
  const rest = at
  while (at < text.length && text[at] !== delimiter && text[at] !== '\n' && text[at] !== '\r') at += 1
  return { value: value + text.slice(rest, at), end: at }
}
