import { z } from 'zod'
import type { DialectListed } from '../../../shared/api/dialects.ts'
import type { CautionAnswers } from '../../../shared/bench-run/check.ts'
import type { WritePlan, WritePlanInput } from '../../../shared/bench-run/plan.ts'
import { notSpoken, spokenBy, typeOfReceiver, usualDialect } from '../../../shared/bench-run/spoken.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { wiringSchema } from '../../../shared/model/gear.ts'
import { idSchema } from '../../../shared/model/units.ts'
import type { ImageChoice } from '../../../shared/rehearse/report.ts'
import type { Line } from '../../../shared/wiring/setup.ts'
import type { ChosenWiring } from '../wiring/use-wiring.ts'
import type { StepId } from './steps.ts'

/** What is set for a write, as far as somebody has come with it. */
export interface Draft {
  readonly mode: 'one' | 'batch'
  /** Place of the port. */
  readonly port: string | undefined
  /** Places of the ports of a batch. */
  readonly ports: readonly string[]
  readonly wiring: ChosenWiring
  readonly dialect: string | undefined
  readonly baud: number | undefined
  /** What was seen, with the key of the plan that it was seen for. */
  readonly cautions: { readonly key: string; readonly answers: CautionAnswers }
  /** The session that this write puts right. */
  readonly recovers: string | undefined
  /** The step that somebody has opened; the next one where left out, none while a write is looked at. */
  readonly open: StepId | 'none' | undefined
}

/** So many writes go at once. */
export const MOST_LANES = 8

const placeSchema = z.string().max(400)
const keptSchema = z.object({
  port: placeSchema.optional(),
  /** Of a batch; that one is begun is said anew each time. */
  ports: z.array(placeSchema).max(MOST_LANES).optional(),
  wiring: z.object({
    adapterId: idSchema.optional(),
    cableId: idSchema.optional(),
    feed: wiringSchema.shape.cableFeed.optional(),
    supplyId: idSchema.optional(),
  }),
  dialect: idSchema.optional(),
  baud: z.number().int().min(50).max(4_000_000).optional(),
})

/** @param kept what was set last, as it was written; anything else is passed over */
export function freshDraft(kept: string | null): Draft {
  const empty: Draft = {
    mode: 'one',
    port: undefined,
    ports: [],
    wiring: { feed: 'through-cable' },
    dialect: undefined,
    baud: undefined,
    cautions: { key: '', answers: {} },
    recovers: undefined,
    open: undefined,
  }
  try {
    return { ...empty, ...keptSchema.parse(JSON.parse(kept ?? '')) }
  } catch {
    return empty
  }
}

/**
 * The draft with the dialect that suits the receiver: the one that was chosen for it, or the usual one of its type. What
 * was last set for another receiver counts only where this one's type does not speak against it.
 * @param isOwn somebody has set this draft for this very receiver
 */
export function suited(bench: Bench, receiverId: string, draft: Draft, isOwn: boolean): Draft {
  const type = typeOfReceiver(bench, receiverId)
  if (type === undefined) return draft
  const { dialect } = draft
  const isFit =
    dialect !== undefined &&
    (type.service === undefined ? !notSpoken(type, dialect) : spokenBy(type).atService.includes(dialect))
  const stays = dialect !== undefined && (isOwn || isFit)
  return stays ? draft : { ...draft, dialect: usualDialect(type), baud: undefined }
}

/** Places that are written through; the first stands for all in a plan. */
export const portsOf = ({ mode, port, ports }: Pick<Draft, 'mode' | 'port' | 'ports'>): readonly string[] =>
  mode === 'batch' ? ports : port === undefined ? [] : [port]

/** Those of the batch before that are still there; the one port where there are none. */
export function portsToBegin(
  { port, ports }: Pick<Draft, 'port' | 'ports'>,
  listed: readonly { readonly place: string }[] | undefined,
): readonly string[] {
  const there = ports.filter(place => listed === undefined || listed.some(one => one.place === place))
  return there.length > 0 || port === undefined ? there : [port]
}

/** The plan, once everything is chosen that it needs; what is no longer on the bench is not chosen. */
export function planOf(
  bench: Bench,
  receiverId: string,
  image: ImageChoice | undefined,
  dropOutside: boolean,
  draft: Draft,
): WritePlanInput | undefined {
  const [port] = portsOf(draft)
  const { adapterId, cableId, feed = 'through-cable', supplyId } = draft.wiring
  const isThere = (list: readonly { readonly id: string }[], id: string) => list.some(one => one.id === id)
  if (image === undefined || port === undefined || draft.dialect === undefined) return undefined
  if (adapterId === undefined || !isThere(bench.adapters, adapterId)) return undefined
  if (cableId === undefined || !isThere(bench.cables, cableId)) return undefined
  return {
    ...{ bench, receiverId, image, dropOutside, port, adapterId, cableId, feed },
    ...{ dialect: draft.dialect, baud: draft.baud },
    supplyId: supplyId !== undefined && isThere(bench.supplies, supplyId) ? supplyId : undefined,
  }
}

/** The line as a dialect has it, for the wiring; undefined where the type of the receiver says it. */
export const lineOf = (dialect: DialectListed | undefined): Line | undefined =>
  dialect === undefined || dialect.inverted === null
    ? undefined
    : {
        inverted: dialect.inverted,
        duplex: dialect.oneWire ? 'half' : 'full',
        ...(dialect.controls && { controls: dialect.controls }),
      }

/** What was set for a session, set again to put it right. */
export function draftOfPlan(plan: WritePlan, sessionId: string): Draft {
  const { port, dialect, baud, adapterId, cableId, feed, supplyId } = plan
  return {
    ...freshDraft(null),
    ...{ port, dialect, baud, wiring: { adapterId, cableId, feed, supplyId } },
    recovers: sessionId,
  }
}

/** The rate of the dialect, or of the bus of the receiver's type. */
export const usualBaud = (
  bench: Bench,
  receiverId: string,
  dialectBaud: readonly number[],
): number | undefined => dialectBaud[0] ?? typeOfReceiver(bench, receiverId)?.bus.baud
