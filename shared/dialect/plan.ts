import type { FailureCode } from '../procedure/effects.ts'
import type { Dialect } from './schema.ts'

/** What is to be written, and how it ended: the same for every dialect, data or code. */

export interface DialectPlan {
  readonly dialect: Dialect
  /** One of `dialect.line.baud`, or what the person chose. */
  readonly baud: number
  readonly image: {
    readonly octets: Uint8Array
    /** Where the first octet goes. */
    readonly address: number
    /** For dialects that say the name; ASCII, cut to 64. */
    readonly fileName: string
  }
  /** Pages that are erased for it, as the boot loader numbers them; ignored where the dialect erases all at once. */
  readonly pages: readonly number[]
  /** Blocks are filled up to a multiple of this too, where the flash has wider words than the dialect asks for. */
  readonly wordOctets?: number
  /** Where to start the receiver; the address of the image where left out. */
  readonly startAt?: number
  /**
   * Read this much before anything is erased, if the dialect can read. The octets are in the end's `backup`; with a
   * path they are also stored there by `store` effects before anything is erased, and nothing is erased if that fails.
   */
  readonly backup?: { readonly address: number; readonly octets: number; readonly path?: string }
  /** Values that the identity must show before anything is erased, by field name. */
  readonly expectBefore: Readonly<Record<string, string>>
  /**
   * Values that it must show after the start, where the dialect can ask then; of a field for the version, the version
   * of the image as it is stated.
   */
  readonly expectAfter: Readonly<Record<string, string>>
  /** False skips the verification that the dialect has. Default true. */
  readonly verify?: boolean
  /** False leaves the receiver in its boot loader. Default true. */
  readonly start?: boolean
  /** Blocks go as a series as long as all goes well. Nothing else on the line changes by it. Default false. */
  readonly inSeries?: boolean
  /** Instead of the dialect's own. */
  readonly attempts?: number
  readonly pauseMs?: number
}

export type WriteFailure =
  | FailureCode
  /** The port cannot be set as the dialect wants it. */
  | 'no-line'
  /** It names itself something else than expected; nothing was changed. */
  | 'other-identity'
  /** Its boot loader cannot do what is needed. */
  | 'not-supported'
  /** The receiver broke the session off. */
  | 'broken-off'

export const RECEIVER_STATES = [
  'as-before',
  'in-boot-loader',
  'partly-written',
  'written-not-proven',
  'runs-new',
  'not-known',
] as const
/** What state the receiver is left in, as far as it can be known from here. */
export type ReceiverState = (typeof RECEIVER_STATES)[number]

export const receiverStateWords: Readonly<
  Record<ReceiverState, { readonly is: string; readonly next: string }>
> = {
  'as-before': {
    is: 'Nothing was changed: the receiver holds what it held before.',
    next: 'Switch it off and on again; it starts as it did before.',
  },
  'in-boot-loader': {
    is: 'The receiver waits in its boot loader and holds no complete image.',
    next: 'Leave it connected and write the image again; until then it does not fly.',
  },
  'partly-written': {
    is: 'The receiver holds the image only partly, or not all of it as it should be.',
    next: 'Write it again from the start. Do not use the receiver before that went through.',
  },
  'written-not-proven': {
    is: 'The image was sent and accepted, but the receiver did not show that it runs it.',
    next: 'Switch the receiver off and on, and check its version and its outputs before you use it.',
  },
  'runs-new': {
    is: 'The receiver runs the new image, and said so itself.',
    next: 'Bind it again where needed, then check channels, failsafe and range.',
  },
  'not-known': {
    is: 'It is not known what the receiver holds now.',
    next: 'Do not use it. Connect it again, and look at what it does and says before anything else.',
  },
}

export interface IdentityField {
  readonly name: string
  readonly label: string
  readonly value: string
  readonly role: 'type' | 'version' | 'mode' | 'other'
}

export interface Proof {
  /** How it was shown that the receiver holds the image. */
  readonly verified: 'read-back' | 'digest' | 'none'
  /** It accepted the order to start. */
  readonly started: boolean
  /** It was asked again after the start, and its answers were as expected. */
  readonly identified: boolean
}

/** The end of a write, by whatever dialect. */
export interface WriteEnd {
  readonly ended: 'done' | 'failed'
  readonly code: WriteFailure | undefined
  /** One plain sentence; empty where all went well and was shown. */
  readonly text: string
  readonly attempts: number
  readonly retries: number
  readonly state: ReceiverState
  readonly proof: Proof
  /** What the receiver said of itself the first time, before anything was erased. */
  readonly saidBefore?: readonly IdentityField[] | undefined
  /** How often it asked to wait. */
  readonly waits?: number
  /** What the receiver said of itself last. */
  readonly identity: readonly IdentityField[] | undefined
  /** What was read before anything was erased. */
  readonly backup: Uint8Array | undefined
}

/** The session may be told as "updated" only then; anything else done is "sent and accepted, not proven". */
export const isProven = (end: WriteEnd): boolean =>
  end.ended === 'done' && end.state === 'runs-new' && end.proof.verified !== 'none' && end.proof.identified

/** For event lists that know the codes of `FailureCode` only. */
export function failureCodeOf(code: WriteFailure): FailureCode {
  switch (code) {
    case 'no-line':
      return 'no-answer'
    case 'other-identity':
    case 'not-supported':
    case 'broken-off':
      return 'refused'
    default:
      return code
  }
}
