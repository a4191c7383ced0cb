import type { PhaseId } from '../sim/trace.ts'

/**
 * What a procedure may ask of the world. A procedure is a generator: it yields an effect and is given the result.
 * The virtual runner answers from the simulation, in simulated time; a serial runner answers from a real port.
 * Neither the procedure nor its author can tell which.
 */
export type Effect =
  | { readonly do: 'send'; readonly octets: Uint8Array }
  | {
      readonly do: 'receive'
      /** Looks at what has arrived; returns how many octets it takes, or false to go on waiting. */
      readonly until: (got: Uint8Array) => number | false
      readonly timeoutMs: number
    }
  | Series
  | { readonly do: 'wait'; readonly ms: number }
  | {
      /** Opens the line with these settings, or changes them. */
      readonly do: 'line'
      readonly dtr?: boolean
      readonly rts?: boolean
      readonly baud?: number
      readonly parity?: 'none' | 'even' | 'odd'
      readonly stopBits?: 1 | 2
      /** Holds the line at space, where the port can, until told otherwise. */
      readonly break?: boolean
      /** Feed the receiver through the cable, where the port can. */
      readonly power?: boolean
    }
  | { readonly do: 'store'; readonly request: StoreRequest }
  | { readonly do: 'say'; readonly event: SessionEvent }

/**
 * The same exchange over and over: each message leaves when the one before it was answered as hoped for. Not more than
 * `send`, `receive` and `say` in turn, but the next message is made while an answer is on its way.
 */
export interface Series {
  readonly do: 'series'
  /** The next message, or undefined where there is none. Called once for each, before the answer to the last is in. */
  readonly next: () => Uint8Array | undefined
  /** As of `receive`, for each answer. */
  readonly until: (got: Uint8Array) => number | false
  readonly timeoutMs: number
  /**
   * Told of each answer.
   * @returns what to say of it, or undefined where it was not as hoped for: then the series ends, and it is the result
   */
  readonly wentOn: (answer: Uint8Array) => SessionEvent | undefined
}

/** What is asked of a storage volume: the card in the radio, or a real one. */
export type StoreRequest =
  | { readonly op: 'space' }
  | { readonly op: 'create'; readonly path: string; readonly bytes: number }
  | { readonly op: 'write'; readonly path: string; readonly offset: number; readonly octets: Uint8Array }
  | { readonly op: 'flush'; readonly path: string }
  | { readonly op: 'read'; readonly path: string; readonly offset: number; readonly bytes: number }
  | { readonly op: 'rename'; readonly path: string; readonly to: string }
  | { readonly op: 'remove'; readonly path: string }
  | { readonly op: 'size'; readonly path: string }

export type StoreFailure = 'absent' | 'full' | 'read-only' | 'not-found' | 'bad-sector' | 'name'

export type EffectResult =
  | { readonly got: 'done' }
  | { readonly got: 'octets'; readonly octets: Uint8Array }
  | { readonly got: 'timeout' }
  | { readonly got: 'number'; readonly value: number }
  | { readonly got: 'failed'; readonly why: StoreFailure | 'no-line' }
  /** Whoever owns the line will not open it, and names the fit rule. */
  | { readonly got: 'refused'; readonly rule: string; readonly text: string }

export type Procedure<R> = Generator<Effect, R, EffectResult>

export type Level = 'info' | 'good' | 'caution' | 'danger'

/** What a session tells as it goes. Every event but progress is shown, kept and counted. */
export type SessionEvent =
  | { readonly kind: 'phase'; readonly phase: PhaseId; readonly attempt: number }
  | { readonly kind: 'progress'; readonly done: number; readonly total: number }
  | {
      readonly kind: 'note'
      readonly level: Level
      readonly text: string
      /** What is waited for from now on lasts no longer than so many milliseconds, and then it has failed. */
      readonly mostMs?: number
    }
  | { readonly kind: 'retry'; readonly what: string; readonly tries: number; readonly text: string }
  | {
      readonly kind: 'attempt-failed'
      readonly attempt: number
      readonly code: FailureCode
      readonly text: string
    }
  /** Something broke or was broken: a fault took effect, power went, a cable came loose. */
  | { readonly kind: 'fault'; readonly fault: string; readonly text: string }
  /** A device refused, and names the fit rule that it refused by. */
  | {
      readonly kind: 'refused'
      readonly by: 'radio' | 'module' | 'receiver' | 'card'
      readonly rule: string
      readonly text: string
    }
  | { readonly kind: 'outcome'; readonly outcome: Outcome; readonly text: string }

export const OUTCOMES = ['updated', 'unchanged', 'needs-cable', 'needs-boot-rom', 'destroyed'] as const
export type Outcome = (typeof OUTCOMES)[number]

export const outcomeWords: Readonly<Record<Outcome, string>> = {
  updated: 'The receiver runs the new image.',
  unchanged: 'The receiver still runs what it ran before.',
  'needs-cable': 'The receiver waits in its boot loader; a cable brings it back.',
  'needs-boot-rom': "Only the chip's own loader can bring the receiver back.",
  destroyed: 'The receiver is electrically destroyed.',
}

export const FAILURES = [
  'image-refused',
  'card-absent',
  'card-full',
  'card-read-only',
  'card-unreadable',
  'image-damaged',
  'radio-refused',
  'not-offered',
  'not-found',
  'no-answer',
  'refused',
  'lost-contact',
  'verify-differs',
  'not-started',
  'radio-off',
] as const
export type FailureCode = (typeof FAILURES)[number]
