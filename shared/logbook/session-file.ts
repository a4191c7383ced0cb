import { z } from 'zod'
import { problemsOfZod } from '../model/bench.ts'
import { withLines } from '../model/field-line.ts'
import { parseJson } from '../model/parse-json.ts'
import { failed, type Problem, type Result, succeeded } from '../model/problem.ts'
import { valueAt } from '../model/zod-words.ts'
import { loggedEventSchema } from './event.ts'
import { findingSchema, newSessionSchema, sessionHeadSchema } from './session.ts'

/** A session by itself, so that another bench can look at it and rehearse it. */
export const sessionFileSchema = z.object({
  format: z.literal('preflash-session'),
  formatVersion: z.literal(1),
  session: sessionHeadSchema
    .omit({ importedAtMs: true, eventCount: true })
    .extend({ plan: newSessionSchema.shape.plan }),
  events: z.array(loggedEventSchema).max(1_000_000),
  finding: findingSchema.nullable(),
})
export type SessionFile = z.infer<typeof sessionFileSchema>

export const MAX_SESSION_FILE_CHARACTERS = 64 * 1024 * 1024

export const writeSessionFile = (file: SessionFile): string =>
  `${JSON.stringify(sessionFileSchema.parse(file), null, 1)}\n`

/**
 * Reads a file that `writeSessionFile` wrote, or that somebody says so of.
 * @returns problems `session.too-large`, `session.not-json`, `session.not-a-session`, `session.version`,
 *   `session.field`, `session.order`
 */
export function readSessionFile(text: string, file: string): Result<SessionFile> {
  if (text.length > MAX_SESSION_FILE_CHARACTERS)
    return failed({
      code: 'session.too-large',
      file,
      message: 'The file is too large to be a session.',
      expected: 'at most 64 MiB',
    })
  const parsedJson = parseJson(text)
  if (!parsedJson.ok)
    return failed({
      code: 'session.not-json',
      file,
      line: parsedJson.line,
      message: `This is not a readable session: ${parsedJson.why}.`,
      expected: 'a file that the logbook exported',
      remedy: 'Choose another file.',
    })
  const raw = parsedJson.value
  const parsed = sessionFileSchema.safeParse(raw)
  if (!parsed.success)
    return failed(
      ...(notOurs(raw, file) ?? withLines(problemsOfZod(parsed.error, 'session.field', file, raw), text)),
    )
  const out = parsed.data.events.findIndex(({ seq }, i) => seq !== i + 1)
  if (out < 0) return succeeded(parsed.data)
  return failed({
    code: 'session.order',
    file,
    field: `events[${out}].seq`,
    message:
      'The events are not numbered one after the other: some are missing, or they were put in another order.',
    expected: `"seq": ${out + 1}`,
    remedy: 'Export the session again.',
  })
}

/** Of a file of something else, or of another time, no single field is worth a complaint. */
function notOurs(raw: unknown, file: string): Problem[] | undefined {
  const { format, formatVersion } = sessionFileSchema.shape
  if (!format.safeParse(valueAt(raw, ['format'])).success)
    return [
      {
        code: 'session.not-a-session',
        file,
        field: 'format',
        message: 'This is not a session out of a logbook.',
        expected: `"format": "${format.value}"`,
        remedy: 'Choose a file that the logbook exported.',
      },
    ]
  if (formatVersion.safeParse(valueAt(raw, ['formatVersion'])).success) return undefined
  return [
    {
      code: 'session.version',
      file,
      field: 'formatVersion',
      message: 'This session was exported in a form that this version of Preflash does not know.',
      expected: `"formatVersion": ${formatVersion.value}`,
      remedy: 'Open it with the Preflash that exported it.',
    },
  ]
}
