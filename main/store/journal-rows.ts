import { z } from 'zod'
import { loggedEventSchema } from '../../shared/logbook/event.ts'
import {
  type Finding,
  findingSchema,
  newSessionSchema,
  sessionHeadSchema,
} from '../../shared/logbook/session.ts'
import { parseJson } from '../../shared/model/parse-json.ts'
import type { Row } from './sqlite.ts'

/** Rows of the logbook as what they stand for. They are checked: the file may have been changed by another program. */

/** A text that is JSON, no deeper than any that is written. */
const json = z.string().transform((text, context): unknown => {
  const parsed = parseJson(text)
  if (parsed.ok) return parsed.value
  context.addIssue({ code: 'custom', message: 'a text that is JSON' })
  return z.NEVER
})

export const HEAD_COLUMNS = `s.id, s.kind, s.receiver_id AS receiverId, s.nickname, s.type_id AS typeId,
  s.bench_name AS benchName, port, s.dialect, s.image, s.recovers, s.started_at AS startedAtMs,
  s.ended_at AS endedAtMs, s.ending, s.outcome, s.imported_at AS importedAtMs,
  coalesce((SELECT max(e.seq) FROM events e WHERE e.session = s.key), 0) AS eventCount`

const headRow = sessionHeadSchema.extend({
  image: json.pipe(newSessionSchema.shape.image.unwrap()).nullable(),
})
export const headOfRow = (row: Row) => headRow.parse(row)

const planRow = z.object({ plan: json.pipe(newSessionSchema.shape.plan.unwrap()).nullable() })
export const planOfRow = (row: Row) => planRow.parse(row).plan

const eventRow = loggedEventSchema.extend({ event: json.pipe(loggedEventSchema.shape.event) })
export const eventOfRow = (row: Row) => eventRow.parse(row)

export const FINDING_COLUMNS = `f.id, f.at AS atMs, f.symptom, f.route, f.answers, f.tried, f.one_of AS isOneOf,
  f.withdrawn_at AS withdrawnAtMs,
  (SELECT json_group_array(c.cause ORDER BY c.place) FROM finding_causes c WHERE c.finding = f.session) AS causes`

const findingRow = findingSchema.extend({
  isOneOf: z.number().transform(flag => flag !== 0),
  causes: json.pipe(findingSchema.shape.causes),
  answers: json.pipe(findingSchema.shape.answers),
  tried: json.pipe(findingSchema.shape.tried),
})
export const findingOfRow = (row: Row): Finding => findingRow.parse(row)

export const countRow = z.object({ cause: z.string(), count: z.number().int().min(0) })
export const ownerRow = z.object({
  id: z.string(),
  pid: z.number().int(),
  started: z.string().nullable(),
})
