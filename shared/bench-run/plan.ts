import { z } from 'zod'
import { sha256Hex } from '../image/digest.ts'
import { benchSchema } from '../model/bench.ts'
import { wiringSchema } from '../model/gear.ts'
import { idSchema } from '../model/units.ts'
import { imageChoiceSchema } from '../rehearse/report.ts'
import { planKey } from '../runbook/plan-key.ts'

/** What is to be written through which port, and how it is wired: all that a write, and its rehearsal, depend on. */
export const writePlanSchema = z.object({
  bench: benchSchema,
  receiverId: idSchema,
  image: imageChoiceSchema,
  /** Octets of the image outside program flash are left out instead of refused. */
  dropOutside: z.boolean().default(false),
  /** A built-in dialect, or one of the data folder. */
  dialect: idSchema,
  /** The usual rate of the dialect where left out. */
  baud: z.number().int().min(50).max(4_000_000).optional(),
  /** Place of the port, as `ports.list` has it: a path, or `host:port` of a serial server. */
  port: z.string().min(1).max(400),
  adapterId: idSchema,
  cableId: idSchema,
  /** What feeds the receiver meanwhile. */
  feed: wiringSchema.shape.cableFeed,
  /** The supply of its own, where it has one. */
  supplyId: idSchema.optional(),
  /** Whether the line gives back what is sent, where somebody knows better than wiring and dialect say. */
  echo: z.boolean().optional(),
  /** What the receiver must say of itself before anything is changed, by identity field of the dialect. */
  expect: z
    .record(z.string().min(1).max(40), z.string().min(1).max(64))
    .refine(fields => Object.keys(fields).length <= 16, { error: 'at most 16 fields' })
    .default({}),
})
export type WritePlan = z.infer<typeof writePlanSchema>
export type WritePlanInput = z.input<typeof writePlanSchema>

/**
 * The digest of everything that the write depends on but the port: through another adapter of the same description the
 * same thing happens, and a rehearsal counts for it too.
 * @param dialectText the dialect as a file, so that one that was edited is another plan
 * @returns SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits
 */
export function writePlanKey(plan: WritePlan, dialectText: string): string {
  const { bench, receiverId, image, dropOutside, adapterId, cableId, supplyId, expect } = plan
  const named = (list: readonly { readonly id: string }[], id: string | undefined) =>
    JSON.stringify({ ...list.find(one => one.id === id), nickname: undefined, note: undefined })
  return planKey(
    { bench, receiverId, image, dropOutside, route: 'cable' },
    {
      dialect: sha256Hex(new TextEncoder().encode(dialectText)),
      baud: String(plan.baud ?? ''),
      adapter: named(bench.adapters, adapterId),
      cable: named(bench.cables, cableId),
      feed: plan.feed,
      supply: named(bench.supplies, supplyId),
      expect: JSON.stringify(Object.entries(expect).sort(([a], [b]) => (a < b ? -1 : 1))),
    },
  )
}
