import type { Turn } from './exchange-text.ts'
import { hexOfOctets } from './hex.ts'
import type { Dialect } from './schema.ts'
import type { ExpectStep, Step } from './schema-steps.ts'

/** What comes out where a dialect is held against an exchange: what was recognised, and the first difference. */

export interface Recognised {
  readonly line: number
  readonly to: Turn['to']
  readonly hex: string
  /** Where the step stands in the dialect file: `write.block[0].steps[2]`. */
  readonly step: string
  /** The request that it belongs to: "Write Memory". */
  readonly what: string
  /** Numbers that it holds, in words for a table. */
  readonly values: Readonly<Record<string, number>>
}

export interface Difference {
  readonly line: number
  readonly to: Turn['to']
  /** Octet of the turn, counting from 0, that is the first to differ. */
  readonly at: number
  readonly is: string
  /** What the dialect would have there; undefined where it has nothing to say there at all. */
  readonly wanted: string | undefined
  readonly step: string
  readonly what: string
  /** All of it in one sentence. */
  readonly text: string
}

export interface ExchangeReport {
  readonly agrees: boolean
  readonly recognised: readonly Recognised[]
  readonly difference: Difference | undefined
}

/** A step in the dialect file, and the request that it belongs to. */
export interface Where {
  readonly path: string
  readonly what: string
}
const NOWHERE: Where = { path: '', what: '' }

/** Where each step stands, by the step itself. */
export class Places {
  private readonly places = new Map<object, Where>()

  /** @param path of the section, `write.block` */
  add(steps: readonly Step[], path: string, what = path): void {
    steps.forEach((step, i) => {
      const here = `${path}[${i}]`
      this.places.set(step, { path: here, what })
      if (step.do === 'request' || step.do === 'repeat') this.add(step.steps, `${here}.steps`, step.what)
      if (step.do === 'when') {
        this.add(step.steps, `${here}.steps`, what)
        this.add(step.otherwise, `${here}.otherwise`, what)
      }
    })
  }

  of(step: object | undefined): Where {
    return (step && this.places.get(step)) ?? NOWHERE
  }
}

/** An answer is another one than the step expects. @param wrong false where it only ends too early */
export function otherAnswer(
  turn: Turn,
  at: number,
  { path, what }: Where,
  { step, dialect, wrong }: { readonly step: ExpectStep; readonly dialect: Dialect; readonly wrong: boolean },
): Difference {
  const replies = step.replies.map(name => `${name} (${dialect.replies[name].octets})`)
  const wanted = [...replies, ...(step.parts.length > 0 ? ['an answer of its parts'] : [])].join(' or ')
  const is = hexOfOctets(turn.octets.subarray(at, at + 1))
  const text = wrong
    ? `Line ${turn.line}: the answer differs at octet ${at + 1}, ${is}. "${what}" expects ${wanted} (${path}).`
    : `Line ${turn.line}: the answer ends too early. "${what}" expects ${wanted} (${path}).`
  return { line: turn.line, to: turn.to, at, is, wanted, step: path, what, text }
}

/** An octet is another one than the dialect has there. @param wanted what it would have, as far as that is known */
export function otherOctet(
  turn: Turn,
  at: number,
  wanted: Uint8Array | undefined,
  { path, what }: Where,
): Difference {
  const is = at < turn.octets.length ? hexOfOctets(turn.octets.subarray(at, at + 1)) : 'nothing'
  const said = wanted && wanted.length > 0 ? hexOfOctets(wanted.subarray(0, 1)) : undefined
  const nothing =
    turn.to === 'receiver' ? 'the workbench would not say this here' : 'the dialect expects no answer here'
  const where = what === '' ? '' : ` In "${what}" (${path}).`
  const text =
    said === undefined
      ? `Line ${turn.line}: octet ${at + 1} is ${is}; ${nothing}.${where}`
      : `Line ${turn.line}: octet ${at + 1} is ${is}, the workbench would say ${said}.${where}`
  return { line: turn.line, to: turn.to, at, is, wanted: said, step: path, what, text }
}
