import { z } from 'zod'
import { readDialect } from '../dialect/schema.ts'
import { MAX_PLAN_CHARACTERS, type NewSession } from '../logbook/session.ts'
import { failed, type Result, succeeded } from '../model/problem.ts'
import { idSchema } from '../model/units.ts'
import { fromBase64, toBase64 } from './base64.ts'
import { builtInChosen, type Chosen, chosenData } from './chosen.ts'
import { type WritePlan, writePlanSchema } from './plan.ts'
import type { DirectPlan, ReadyWrite } from './ready.ts'
import { directWrite, planWrite } from './ready.ts'

/** A plan as it lies in the logbook, with all that is needed to rehearse or replay it on another bench. */

type Json = NonNullable<NewSession['plan']>

const base64Schema = z.string().transform((text, context) => {
  const octets = fromBase64(text)
  if (octets !== undefined) return octets
  context.addIssue({ code: 'custom', message: 'octets in base64' })
  return z.NEVER
})

const benchSchema = z.object({
  kind: z.literal('bench'),
  dialectText: z.string().max(200_000),
  octets: base64Schema.nullable(),
  plan: z.record(z.string(), z.unknown()),
})
const directSchema = z.object({
  kind: z.literal('direct'),
  dialectText: z.string().max(200_000),
  octets: base64Schema,
  name: z.string().max(255),
  address: z.number().int().min(0).max(0xffff_ffff),
  version: z.string().max(64).nullable(),
  baud: z.number().int().min(50).max(4_000_000),
  pages: z.array(z.number().int().min(0)).max(65_536),
  echo: z.boolean().nullable(),
  backup: z
    .object({
      address: z.number(),
      octets: z
        .number()
        .int()
        .min(0)
        .max(8 * 1024 * 1024),
    })
    .nullable(),
  expect: z.record(z.string(), z.string()),
})
const storedSchema = z.discriminatedUnion('kind', [benchSchema, directSchema])

/** In base64 that alone is too much. */
const MOST_OCTETS = (MAX_PLAN_CHARACTERS / 4) * 3

/** What is too large for the logbook is left out of it: the write goes on, and cannot be replayed. */
function plain(value: unknown): Json | null {
  const text = JSON.stringify(value)
  return text.length > MAX_PLAN_CHARACTERS ? null : (JSON.parse(text) as Json)
}

/** @returns null for a plan that is too large to be kept */
export function planToJson(plan: WritePlan, chosen: Chosen): Json | null {
  const { image } = plan
  if (image.kind === 'file' && image.octets.length > MOST_OCTETS) return null
  const octets = image.kind === 'file' ? toBase64(image.octets) : null
  const kept = image.kind === 'file' ? { ...image, octets: undefined } : image
  return plain({ kind: 'bench', dialectText: chosen.text, octets, plan: { ...plan, image: kept } })
}

/** @returns null for a plan that is too large to be kept */
export function directToJson(direct: DirectPlan, dialectText: string): Json | null {
  const { image, baud, dialect, pages, echo, backup, expect } = direct
  if (image.octets.length > MOST_OCTETS) return null
  return plain({
    ...{ kind: 'direct', dialectText, octets: toBase64(image.octets), name: image.name },
    ...{ address: image.address, version: image.version, baud: baud ?? dialect.line.baud[0] },
    ...{ pages, echo: echo ?? null, backup: backup ?? null, expect },
  })
}

export interface StoredPlan {
  readonly ready: ReadyWrite
  /** Null for a device that is on no bench. */
  readonly plan: WritePlan | null
  /** Null for a receiver of a bench. */
  readonly direct: DirectPlan | null
  readonly chosen: Chosen
}

const notOurs = (why: string) => ({
  code: 'write.no-plan',
  message: `The plan of this session cannot be read any more: ${why}.`,
  remedy: 'Make a new plan for this receiver.',
})

/** @returns `write.no-plan` where the session has none, or one of another kind or time */
export function planFromJson(json: unknown): Result<StoredPlan> {
  const stored = storedSchema.safeParse(json)
  if (!stored.success) return failed(notOurs('it is not one of a write'))
  const chosen = chosenOf(stored.data.dialectText)
  if (!chosen.ok) return chosen
  return stored.data.kind === 'bench'
    ? fromBench(stored.data, chosen.value)
    : fromDirect(stored.data, chosen.value)
}

function chosenOf(text: string): Result<Chosen> {
  const named = idSchema.safeParse(text)
  const builtIn = named.success ? builtInChosen(named.data) : undefined
  if (builtIn) return succeeded(builtIn)
  const read = readDialect(text, 'dialect of the session')
  return read.ok ? succeeded(chosenData(read.value)) : read
}

function fromBench({ plan, octets }: z.output<typeof benchSchema>, chosen: Chosen): Result<StoredPlan> {
  const image = plan.image as Record<string, unknown> | undefined
  const whole = octets === null ? plan : { ...plan, image: { ...image, octets } }
  const parsed = writePlanSchema.safeParse(whole)
  if (!parsed.success) return failed(notOurs(parsed.error.issues[0].message))
  const planned = planWrite(parsed.data, chosen)
  if (!planned.ok) return planned
  return succeeded({ ready: planned.value.ready, plan: parsed.data, direct: null, chosen })
}

function fromDirect(stored: z.output<typeof directSchema>, chosen: Chosen): Result<StoredPlan> {
  if (chosen.kind !== 'data') return failed(notOurs('the Preflash bus needs a bench'))
  const { octets, name, address, version, baud, pages, echo, backup, expect } = stored
  const direct: DirectPlan = {
    dialect: chosen.dialect,
    image: { octets, name, address, version },
    ...{ baud, pages, expect, echo: echo ?? undefined, backup: backup ?? undefined },
  }
  return succeeded({ ready: directWrite(direct), plan: null, direct, chosen })
}
