import type { FlashLayout } from '../model/catalogue.ts'
import type { Route } from '../model/units.ts'
import { MAX_BODY, MAX_WRITE_DATA } from './bus.ts'

/**
 * How long to wait for what, worked out from the line and the flash, never guessed: the longest answer, the slowest
 * flash, and a margin for the adapter in between.
 */
export interface Timing {
  readonly shortMs: number
  readonly writeMs: number
  readonly erasePages: number
  readonly eraseMs: number
  readonly digestMs: (octets: number) => number
  readonly settleMs: number
  readonly tries: number
  /** One search of the module for the receiver, and how many are made until it has had the time to start. */
  readonly searchMs: number
  readonly searches: number
  readonly restartMs: number
  readonly pauseMs: number
}

export interface TimingInput {
  readonly route: Route
  readonly baud: number
  readonly turnaroundMs: number
  readonly flash: FlashLayout
  /** Extra delay that the port or adapter adds to each answer. */
  readonly latencyMs: number
  readonly settleMs: number
  readonly listenMs: number
}

const FRAME_OVERHEAD_OCTETS = 6
/** Room for a frame whose every tenth octet is stuffed. */
const STUFFING = 1.1
const MARGIN_MS = 8
const DIGEST_MS_PER_OCTET = 0.001
const SLOT_MS = 9
/** How long a module looks for a receiver before it says that there is none. */
const MODULE_SEARCHES_MS = 1200

export function timingFor(input: TimingInput): Timing {
  const { flash, route } = input
  const longFrameMs = ((MAX_BODY + FRAME_OVERHEAD_OCTETS) * STUFFING * 10_000) / input.baud
  // By air a frame waits for its slot, and the answer for its turn; a module that listens first may skip some slots.
  const wayMs =
    (route === 'cable' ? longFrameMs : 6 * SLOT_MS) + input.turnaroundMs + input.latencyMs + MARGIN_MS
  const programMs = (MAX_WRITE_DATA / flash.wordBytes) * (flash.programMicros.most / 1000)
  const erasePages = 4
  const restartMs = input.listenMs + 150 + flash.programBytes * DIGEST_MS_PER_OCTET
  return {
    shortMs: wayMs,
    writeMs: wayMs + programMs,
    erasePages,
    eraseMs: wayMs + erasePages * flash.eraseMs.most,
    digestMs: octets => wayMs + octets * DIGEST_MS_PER_OCTET * 1.5,
    settleMs: input.settleMs + 40,
    tries: route === 'cable' ? 4 : 12,
    searchMs: MODULE_SEARCHES_MS + 300,
    searches: Math.max(1, Math.ceil(restartMs / MODULE_SEARCHES_MS)),
    restartMs,
    pauseMs: 2500,
  }
}
