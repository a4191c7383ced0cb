import { z } from 'zod'
import { problemsOfZod } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import type { FlashRegion } from './flash.ts'
import { blankMemory, type ReceiverMemory } from './memory.ts'

/** What an emulated receiver holds, as a file, so that it holds it still when it is played again. */

const FORMAT = 'preflash-emulated-receiver'
/** Flash of 4 MiB in hexadecimal, and room for the rest. */
export const MOST_STATE_CHARACTERS = 16 * 1024 * 1024
const MOST_PAGES = 65_536

const regionSchema = z.strictObject({
  /** Octets in hexadecimal, page by page; an erased page is empty. */
  pages: z.array(z.string().regex(/^([0-9a-f]{2})*$/, 'octets in hexadecimal, or nothing')).max(MOST_PAGES),
  wear: z.array(z.number().int().min(0).max(0xffff_ffff)).max(MOST_PAGES),
})
const stateSchema = z.strictObject({
  format: z.literal(FORMAT),
  version: z.literal(1),
  typeId: z.string().max(200),
  /** Why it is destroyed, or null. */
  dead: z.string().max(300).nullable(),
  program: regionSchema,
  record: regionSchema,
  boot: regionSchema,
})
type Region = z.infer<typeof regionSchema>

const HEX = Array.from({ length: 256 }, (_, octet) => octet.toString(16).padStart(2, '0'))

function regionOut({ octets, pageBytes, wear }: FlashRegion): Region {
  const pages: string[] = []
  for (let from = 0; from < octets.length; from += pageBytes) {
    const page = octets.subarray(from, from + pageBytes)
    pages.push(page.every(octet => octet === 0xff) ? '' : Array.from(page, octet => HEX[octet]).join(''))
  }
  return { pages, wear: [...wear] }
}

/** The text of the file. */
export function writeReceiverState(typeId: string, memory: ReceiverMemory): string {
  const { program, record, boot, dead } = memory
  return `${JSON.stringify({
    format: FORMAT,
    version: 1,
    typeId,
    dead: dead ?? null,
    program: regionOut(program),
    record: regionOut(record),
    boot: regionOut(boot),
  })}\n`
}

/** The names of the fields, the type and why it is destroyed. */
const MOST_REST_CHARACTERS = 4096
/** Quotation marks and a comma around a page, its wear of at most ten digits and a comma. */
const MOST_PAGE_CHARACTERS = 14

/** No file of this memory is longer, in characters of one octet each, whatever comes to be written into it. */
export const mostStateCharacters = ({ program, record, boot }: ReceiverMemory): number =>
  [program, record, boot].reduce(
    (sum, { octets, wear }) => sum + 2 * octets.length + MOST_PAGE_CHARACTERS * wear.length,
    MOST_REST_CHARACTERS,
  )

/**
 * Reads such a file for a receiver of this type.
 * @returns problems `state.not-json`, `state.other-file`, `state.field`, `state.other-type`, `state.size`
 */
export function readReceiverState(text: string, file: string, type: ReceiverType): Result<ReceiverMemory> {
  if (text.length > MOST_STATE_CHARACTERS)
    return failed({
      code: 'state.size',
      file,
      message: 'The file is too large for the flash of an emulated receiver.',
      expected: `at most ${MOST_STATE_CHARACTERS} characters`,
    })
  const parsedJson = parseJson(text)
  if (!parsedJson.ok)
    return failed({
      code: 'state.not-json',
      file,
      line: parsedJson.line,
      message: `This is not the flash of an emulated receiver: ${parsedJson.why}.`,
      remedy: 'Name another file, or delete this one to begin with a new receiver.',
    })
  const raw = parsedJson.value
  if (!isOfThisFormat(raw))
    return failed({
      code: 'state.other-file',
      file,
      message: 'This is not the flash of an emulated receiver, but something else.',
      expected: 'a file that an emulated receiver was kept in before, or a name that is not there yet',
      remedy: 'Name another file; this one was not changed.',
    })
  const parsed = stateSchema.safeParse(raw)
  if (!parsed.success)
    return failed(...withLines(problemsOfZod(parsed.error, 'state.field', file, raw), text))
  const state = parsed.data
  if (state.typeId !== type.id)
    return failed({
      code: 'state.other-type',
      file,
      field: 'typeId',
      message: `The file holds the flash of a receiver of the type "${state.typeId}".`,
      expected: type.id,
      remedy: 'Choose the receiver that it was kept for, or another file.',
    })
  const memory = blankMemory(type)
  const problems = (['program', 'record', 'boot'] as const).flatMap(name =>
    regionIn(memory[name], state[name], file),
  )
  if (problems.length > 0) return failed(...problems.slice(0, 20))
  if (state.dead !== null) memory.dead = state.dead
  return succeeded(memory)
}

const isOfThisFormat = (raw: unknown): boolean =>
  typeof raw === 'object' && raw !== null && 'format' in raw && raw.format === FORMAT

function regionIn(region: FlashRegion, { pages, wear }: Region, file: string): Problem[] {
  const { name, octets, pageBytes } = region
  const wrong = (field: string, message: string, expected: string): Problem => ({
    code: 'state.size',
    file,
    field: `${name}.${field}`,
    message,
    expected,
  })
  if (pages.length !== region.wear.length)
    return [wrong('pages', `There are ${pages.length} pages.`, `${region.wear.length} of this type`)]
  if (wear.length !== pages.length)
    return [wrong('wear', `There are ${wear.length} counts.`, `${pages.length}, one for each page`)]
  const uneven = pages.findIndex(page => page !== '' && page.length !== pageBytes * 2)
  if (uneven >= 0)
    return [
      wrong(`pages[${uneven}]`, `The page has ${pages[uneven].length / 2} octets.`, `${pageBytes} or none`),
    ]
  octets.fill(0xff)
  pages.forEach((page, i) => {
    for (let at = 0; at < page.length; at += 2)
      octets[i * pageBytes + at / 2] = Number.parseInt(page.slice(at, at + 2), 16)
  })
  region.wear.set(wear)
  return []
}
