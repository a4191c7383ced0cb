import { failed, type Result } from '../../../shared/model/problem.ts'
import { readSheet } from '../../../shared/sheet/read-sheet.ts'
import { MAX_SHEET_FILE_CHARS, SHEET_SUFFIX, type TypeSheet } from '../../../shared/sheet/type-sheet.ts'

/** The part of the browser's File that is used. */
export interface TextFile {
  readonly name: string
  readonly size: number
  text(): Promise<string>
}

export const isSheetFile = (name: string): boolean => name.toLowerCase().endsWith(SHEET_SUFFIX)

/** A character of UTF-8 has at most four octets. */
const MAX_OCTETS = 4 * MAX_SHEET_FILE_CHARS

/** Reads a sheet that somebody chose or dropped. */
export async function readSheetFile(file: TextFile): Promise<Result<TypeSheet>> {
  if (file.size > MAX_OCTETS)
    return failed({
      code: 'sheet.too-large',
      file: file.name,
      message: 'The file is too large to be a type sheet.',
      expected: `at most ${MAX_SHEET_FILE_CHARS / 1024 / 1024} MiB`,
      remedy: 'Choose another file.',
    })
  try {
    return readSheet(await file.text(), file.name)
  } catch {
    return failed({
      code: 'sheet.unreadable',
      file: file.name,
      message: 'The file could not be read.',
      remedy: 'Is it still there, and may you open it?',
    })
  }
}

/** A file name for a sheet of this title, that every system takes. */
export function sheetFileName(title: string): string {
  const plain = title
    .normalize('NFKD')
    .replace(/[^A-Za-z0-9 ._-]+/g, '')
    .trim()
    .replace(/\s+/g, '-')
    .replace(/^[.-]+|[.-]+$/g, '')
    .slice(0, 60)
  return `${plain === '' ? 'types' : plain}${SHEET_SUFFIX}`
}
