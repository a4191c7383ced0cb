import { sha256Hex } from '../image/digest.ts'
import { around, type Bench, findType } from '../model/bench.ts'
import type { ModuleType, RadioType, ReceiverType } from '../model/catalogue.ts'
import type { ImageChoice, RehearsalRequest } from '../rehearse/report.ts'

/** What a plan is made of; what a rehearsal of it may vary (seed, faults) is not part of it. */
export type Plan = Pick<RehearsalRequest, 'bench' | 'receiverId' | 'image' | 'route' | 'dropOutside'>

const encoder = new TextEncoder()

/** Words about things, which no procedure depends on. */
const ONLY_WORDS: ReadonlySet<string> = new Set([
  'nickname',
  'name',
  'maker',
  'note',
  'source',
  'seen',
  'looks',
])

/**
 * The digest of everything on the bench that the update of this receiver depends on, and of image and route: two
 * requests with the same key are the same plan. What things are called does not count, nor does the rest of the bench.
 * @returns SHA-256 (FIPS 180-4) as 64 lower-case hexadecimal digits
 */
export function planKey(plan: Plan, extra: Readonly<Record<string, string>> = {}): string {
  const { bench, receiverId, image, route, dropOutside } = plan
  const parts = {
    around: partsOf(bench, receiverId),
    image: imageOf(bench, image),
    route,
    dropOutside,
    extra,
  }
  return sha256Hex(encoder.encode(canonical(parts)))
}

function partsOf(bench: Bench, receiverId: string) {
  const { catalogue, wiring } = bench
  const found = around(bench, receiverId)
  const receiverType = found.receiver && findType(catalogue, 'receiverTypes', found.receiver.typeId)
  const radioType = found.radio && findType(catalogue, 'radioTypes', found.radio.typeId)
  const moduleType = found.module && findType(catalogue, 'moduleTypes', found.module.typeId)
  const family = (receiverType as ReceiverType | undefined)?.family
  return {
    ...found,
    receiverType,
    radioType: radioType as RadioType | undefined,
    moduleType: moduleType as ModuleType | undefined,
    pairings: catalogue.pairings.filter(p => p.family === family),
    connectors: catalogue.connectors,
    wiring,
  }
}

function imageOf(bench: Bench, image: ImageChoice): unknown {
  if (image.kind === 'bench')
    return { built: bench.images.find(i => i.id === image.imageId) ?? image.imageId }
  if (image.kind === 'library') return { library: image.id }
  const { octets, cardText, declared } = image
  return { file: sha256Hex(octets), cardText, declared }
}

/** JSON with the keys in order, so that the same things always read the same. */
function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`
  if (typeof value !== 'object' || value === null) return JSON.stringify(value) ?? 'null'
  const fields = Object.entries(value)
    .filter(([key, field]) => field !== undefined && !ONLY_WORDS.has(key))
    .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
  return `{${fields.map(([key, field]) => `${JSON.stringify(key)}:${canonical(field)}`).join(',')}}`
}
