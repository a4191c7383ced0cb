import { fieldPath, withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { valueAt, wordsOfIssue } from '../model/zod-words.ts'
import {
  connectorsOf,
  entryName,
  MAX_SHEET_FILE_CHARS,
  SHEET_KINDS,
  type TypeSheet,
  typeSheetSchema,
} from './type-sheet.ts'

/** More than these would only hide the first. */
const MOST_PROBLEMS = 20
const REMEDY = 'Correct it with a text editor and import the sheet again. The bench was not changed.'

/**
 * Reads a type sheet.
 * @param fileText the whole file, UTF-8 already decoded; whatever is in it
 * @param file its name, for the messages
 * @returns the sheet, with a warning for each field that this version does not know; or problems that name the line,
 * the field, what was expected and what to do
 */
export function readSheet(fileText: string, file: string): Result<TypeSheet> {
  const text = fileText.replace(/^\uFEFF/, '')
  if (text.length > MAX_SHEET_FILE_CHARS)
    return failed({
      code: 'sheet.too-large',
      file,
      message: 'The file is too large to be a type sheet.',
      expected: `at most ${MAX_SHEET_FILE_CHARS / 1024 / 1024} MiB`,
      remedy: 'Choose another file, or ask for the sheet in several parts.',
    })
  const parsedJson = parseJson(text)
  if (!parsedJson.ok)
    return failed({
      code: 'sheet.not-json',
      file,
      line: parsedJson.line,
      message: `This is not a readable type sheet: ${parsedJson.why}.`,
      expected: 'a file that “Export” under Fleet has written',
      remedy: 'Ask for the file again, or mend this line with a text editor.',
    })
  const raw = parsedJson.value
  const other = notASheet(raw, file)
  if (other !== undefined) return failed(other)
  const read = typeSheetSchema.safeParse(raw)
  const at = (path: readonly PropertyKey[]) => ({
    file,
    field: fieldPath(path),
  })
  if (!read.success) {
    const firsts = new Map<string, Problem>()
    for (const issue of read.error.issues.slice(0, MOST_PROBLEMS)) {
      const field = fieldPath(issue.path)
      const words = wordsOfIssue(issue, valueAt(raw, issue.path))
      if (!firsts.has(field))
        firsts.set(field, { code: 'sheet.field', ...words, ...at(issue.path), remedy: REMEDY })
    }
    return failed(...withLines([...firsts.values()], text))
  }
  const problems = [...doubles(read.data), ...loose(read.data)]
    .slice(0, MOST_PROBLEMS)
    .map(({ path, ...problem }) => ({ ...problem, ...at(path), remedy: REMEDY }))
  if (problems.length > 0) return failed(...withLines(problems, text))
  return succeeded(
    read.data,
    withLines(
      unknownFields(raw, read.data)
        .slice(0, MOST_PROBLEMS)
        .map(path => ({
          code: 'sheet.unknown-field',
          ...at(path),
          message: 'This version of Preflash does not know this field, so it was left out.',
        })),
      text,
    ),
  )
}

/** Of a file of something else, or of another time, no single field is worth a complaint. */
function notASheet(raw: unknown, file: string): Problem | undefined {
  const { format, formatVersion } = typeSheetSchema.shape
  const said = typeof raw === 'object' && raw !== null ? valueAt(raw, ['format']) : undefined
  if (said === 'preflash-bench')
    return {
      code: 'sheet.is-a-bench',
      file,
      field: 'format',
      message: 'This is a whole bench, not a type sheet.',
      expected: `"format": "${format.value}"`,
      remedy: 'Open it under Benches. There, “Export” under Fleet makes a type sheet of it.',
    }
  if (said !== format.value)
    return {
      code: 'sheet.not-a-sheet',
      file,
      field: 'format',
      message: 'This is not a type sheet.',
      expected: `"format": "${format.value}", as every type sheet has it`,
      remedy: 'Choose a file that “Export” under Fleet has written.',
    }
  if (formatVersion.safeParse(valueAt(raw, ['formatVersion'])).success) return undefined
  return {
    code: 'sheet.version',
    file,
    field: 'formatVersion',
    message: 'This type sheet was written in a form that this version of Preflash does not know.',
    expected: `"formatVersion": ${formatVersion.value}`,
    remedy: 'Import it with the Preflash that wrote it, or ask for one in this form.',
  }
}

interface Placed extends Omit<Problem, 'field' | 'file' | 'line'> {
  readonly path: readonly PropertyKey[]
}

function doubles(sheet: TypeSheet): Placed[] {
  const problems: Placed[] = []
  for (const kind of SHEET_KINDS) {
    const seen = new Set<string>()
    sheet[kind].forEach((entry, i) => {
      if (seen.has(entry.id))
        problems.push({
          code: 'sheet.duplicate-id',
          path: [kind, i, 'id'],
          message: `The id "${entry.id}" is used twice in this list.`,
          expected: 'an id of its own for each entry',
        })
      seen.add(entry.id)
    })
  }
  return problems
}

/** A sheet brings what it refers to: on another bench the same id may be another thing. */
function loose(sheet: TypeSheet): Placed[] {
  const there = new Set(sheet.connectors.map(connector => connector.id))
  return SHEET_KINDS.flatMap(kind =>
    sheet[kind].flatMap((entry, i) =>
      connectorsOf(kind, entry)
        .filter(({ id }) => !there.has(id))
        .map(
          ({ path, id }): Placed => ({
            code: 'sheet.reference',
            path: [kind, i, ...path],
            message: `${entryName(kind, entry)} needs the connector "${id}", which is not in this sheet.`,
            expected: 'the id of one of the connectors in the sheet',
          }),
        ),
    ),
  )
}

/** Paths of what is in the file and not in what was read of it. As deep as the schema goes, and no deeper. */
function unknownFields(raw: unknown, read: unknown, path: readonly PropertyKey[] = []): PropertyKey[][] {
  if (Array.isArray(raw) && Array.isArray(read))
    return raw.flatMap((item, i) => unknownFields(item, read[i], [...path, i]))
  if (!isGroup(raw) || !isGroup(read)) return []
  return Object.keys(raw).flatMap(key =>
    Object.hasOwn(read, key) ? unknownFields(raw[key], read[key], [...path, key]) : [[...path, key]],
  )
}

const isGroup = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === 'object' && value !== null && !Array.isArray(value)
