import type { ImageCard } from '../image/image-card.ts'
import { writeImageCard } from '../image/image-card.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import { isKnown } from '../model/units.ts'
import { firmwareShown, type Identity, typeCode, versionText } from '../procedure/bus.ts'
import type { EffectResult, Procedure, SessionEvent, StoreRequest } from '../procedure/effects.ts'
import type { Timing } from '../procedure/timing.ts'
import { type UpdateResult, updateReceiver } from '../procedure/update.ts'
import type { IdentityField, ReceiverState, WriteEnd } from './plan.ts'
import { stateIfBrokenOff } from './state.ts'

/** The Preflash bus as one of the dialects: the update as it is rehearsed, with the image kept in memory. */

export const BUS_DIALECT = 'preflash-bus'

export interface BusWritePlan {
  /** The image as raw octets, and its card; the card's `sizeBytes` and `crc32` must be those of the octets. */
  readonly payload: Uint8Array
  readonly card: ImageCard
  readonly timing: Timing
  readonly baud: number
  readonly attempts: number
  readonly types: readonly ReceiverType[]
}

const PAYLOAD = 'image.bin'
const CARD = 'image.json'

/** @returns how it ended, in the words of every other dialect */
export function* writeByBus(plan: BusWritePlan): Procedure<WriteEnd> {
  const files = new Map([
    [PAYLOAD, plan.payload],
    [CARD, new TextEncoder().encode(writeImageCard(plan.card))],
  ])
  const { timing, baud, attempts, types } = plan
  const inner = updateReceiver({
    ...{ route: 'cable', payloadPath: PAYLOAD, cardPath: CARD, stage: [] },
    ...{ timing, baud, attempts, types },
  })
  const told: SessionEvent[] = []
  return endOf(yield* withStore(inner, files, told), told, plan)
}

/** Carries a procedure on, and answers what it asks of its store. */
function* withStore<R>(
  inner: Procedure<R>,
  files: ReadonlyMap<string, Uint8Array>,
  told: SessionEvent[],
): Procedure<R> {
  let input: EffectResult = { got: 'done' }
  let ended = false
  try {
    for (;;) {
      const step = inner.next(input)
      if (step.done) {
        ended = true
        return step.value
      }
      const effect = step.value
      if (effect.do === 'store') {
        input = answer(files, effect.request)
        continue
      }
      if (effect.do === 'say' && effect.event.kind === 'phase') told.push(effect.event)
      input = yield effect
    }
  } finally {
    if (!ended) inner.return(undefined as R)
  }
}

function answer(files: ReadonlyMap<string, Uint8Array>, request: StoreRequest): EffectResult {
  const octets = 'path' in request ? files.get(request.path) : undefined
  if (octets === undefined) return { got: 'failed', why: 'not-found' }
  if (request.op === 'size') return { got: 'number', value: octets.length }
  if (request.op === 'read')
    return { got: 'octets', octets: octets.subarray(request.offset, request.offset + request.bytes) }
  return { got: 'failed', why: 'read-only' }
}

function endOf(result: UpdateResult, told: readonly SessionEvent[], plan: BusWritePlan): WriteEnd {
  const { ended, code, attempts, retries } = result
  const done = ended === 'done'
  const { version } = plan.card
  // The procedure asked for the version that the card names; without one it can only say that something runs.
  const shown =
    done && isKnown(version) && result.identity && firmwareShown(result.identity.firmware, version)
  const identified = shown !== undefined && shown !== false && shown.is === 'shown'
  const text = shown && shown.is === 'cannot-say' ? shown.why : result.text
  const state: ReceiverState = done
    ? identified
      ? 'runs-new'
      : 'written-not-proven'
    : stateIfBrokenOff(told)
  return {
    ...{ ended, code, text, attempts, retries, state },
    proof: { verified: done ? 'digest' : 'none', started: done, identified },
    saidBefore: result.before && fieldsOf(result.before, plan.types),
    identity: result.identity && fieldsOf(result.identity, plan.types),
    backup: undefined,
  }
}

const pagesText = ({ programPages, pageBytes }: Identity) => `${programPages} pages of ${pageBytes} octets`

function fieldsOf(identity: Identity, types: readonly ReceiverType[]): IdentityField[] {
  const type = types.find(t => typeCode(t.id) === identity.typeCode)
  return [
    { name: 'type', label: 'Type', value: type?.name ?? identity.typeCode.toString(16), role: 'type' },
    { name: 'version', label: 'Firmware', value: versionText(identity.firmware), role: 'version' },
    { name: 'generation', label: 'Generation', value: String(identity.generation), role: 'other' },
    { name: 'mode', label: 'Runs', value: identity.inBootLoader ? 'boot loader' : 'firmware', role: 'mode' },
    { name: 'program-flash', label: 'Program flash', value: pagesText(identity), role: 'other' },
    {
      name: 'write-octets',
      label: 'Octets in one write',
      value: String(identity.writeOctets),
      role: 'other',
    },
  ]
}
