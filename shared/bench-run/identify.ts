import { sameValue, versionSaid } from '../dialect/identity.ts'
import { identifyByDialect } from '../dialect/interpret.ts'
import { isKnown } from '../model/units.ts'
import { ADDRESS, body, firmwareShown, KIND, readIdentity, typeCode, versionText } from '../procedure/bus.ts'
import type { Procedure } from '../procedure/effects.ts'
import { Exchange } from '../procedure/exchange.ts'
import type { PlannedWrite } from './ready.ts'

/** Who is at the other end of the line, asked without changing anything: for a batch, between two receivers. */
export interface WhoIsThere {
  readonly there: boolean
  /** What it says of itself, for people. */
  readonly identity: string
  /** It is what the plan is for; a receiver that cannot say so is taken to be. */
  readonly right: boolean
  /** It says that it runs the image of the plan already; what cannot say so of a pre-release is written again. */
  readonly current: boolean
}

const NOBODY: WhoIsThere = { there: false, identity: '', right: false, current: false }
const ASK_MS = 60
const LISTEN_MS = 3500

/** @returns who answers; never throws what a line can cause */
export function* whoIsThere(planned: PlannedWrite): Procedure<WhoIsThere> {
  const { chosen } = planned.ready
  if (chosen.kind === 'bus') return yield* askOnBus(planned)
  return chosen.dialect.identify === undefined ? yield* listen(planned) : yield* askByDialect(planned)
}

function* askOnBus({ ready, type, image }: PlannedWrite): Procedure<WhoIsThere> {
  const { baud } = ready.line
  yield { do: 'line', baud, parity: 'none', power: true }
  const answer = yield* new Exchange().ask(body(ADDRESS.receiver, KIND.identify), {
    timeoutMs: ASK_MS,
    tries: 2,
    what: 'the question what it is',
  })
  const id = answer.got === 'reply' ? readIdentity(answer.body) : undefined
  if (id === undefined) return NOBODY
  const right = id.typeCode === typeCode(type.id)
  const { version } = image.card
  return {
    there: true,
    identity: `${right ? type.name : 'another type'}, ${id.inBootLoader ? 'in its boot loader' : `firmware ${versionText(id.firmware)}`}`,
    right,
    current:
      right && !id.inBootLoader && isKnown(version) && firmwareShown(id.firmware, version).is === 'shown',
  }
}

function* askByDialect({ ready, plan, image }: PlannedWrite): Procedure<WhoIsThere> {
  const { chosen, line } = ready
  if (chosen.kind === 'bus') return NOBODY
  const { dialect } = chosen
  const end = yield* identifyByDialect({ dialect, baud: line.baud })
  if (end.ended === 'failed' || end.identity === undefined) return NOBODY
  const { identity } = end
  const field = (role: string) => identity.find(f => f.role === role)
  const version = field('version')
  return {
    there: true,
    identity: identity.map(f => `${f.label} ${f.value}`).join(', '),
    right: Object.entries(plan.expect).every(([name, wanted]) =>
      identity.some(f => f.name === name && sameValue(f.value, wanted)),
    ),
    current:
      version !== undefined &&
      isKnown(image.card.version) &&
      versionSaid(dialect, version, image.card.version).is === 'shown',
  }
}

/** A boot loader that asks for its image by itself is there when anything is heard of it. */
function* listen({ ready }: PlannedWrite): Procedure<WhoIsThere> {
  const { baud, parity, stopBits } = ready.line
  yield { do: 'line', baud, parity, stopBits, power: true }
  const heard = yield {
    do: 'receive',
    until: got => (got.length > 0 ? got.length : false),
    timeoutMs: LISTEN_MS,
  }
  if (heard.got !== 'octets') return NOBODY
  return { there: true, identity: 'a boot loader that asks for an image', right: true, current: false }
}
