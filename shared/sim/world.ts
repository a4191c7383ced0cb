import type { Bench } from '../model/bench.ts'
import type { Route } from '../model/units.ts'

/**
 * What the catalogue and the units do not say: how this table behaves in this session.
 * Faults are changes of the bench or of this; nothing else makes a session go wrong.
 */
export interface World {
  /** Probability that a bit on the wire arrives inverted. */
  readonly bitErrorRate: number
  /** The update cable opens at this moment and stays open. */
  readonly cableLooseAtMs: number | undefined
  /** The receiver's supply goes away at this moment and stays away. */
  readonly powerCutAtMs: number | undefined
  /** The receiver's supply goes away at this effect or flash operation: the exhaustive sweep uses it. */
  readonly cut: CutPoint | undefined
  /** A supply that was cut comes back after so long; undefined: it stays away. */
  readonly supplyReturnsAfterMs: number | undefined
  /** Resistance in the supply's path on top of what the bench says: a tired pack, a thin lead, a poor contact. */
  readonly extraSupplyOhms: number
  /** How long a sensor goes on talking after it was told to be quiet; undefined: it obeys. */
  readonly sensorTalksForMs: number | undefined
  /** The receiver's own settling time is replaced by this. */
  readonly settleMs: number | undefined
  /** Share of the time that somebody else's signal occupies a channel, and how strong it is at both ends. */
  readonly interference: { readonly share: number; readonly dbm: number }
  readonly cardPulledAtMs: number | undefined
  /** What is on the card is not what was chosen. */
  readonly cardImage: CardImage
  /** The radio's battery falls by this much for each minute of the session. */
  readonly batteryVoltsPerMinute: number
  /** What a broken or badly placed antenna of the receiver takes from every signal. */
  readonly antennaLossDb: number
  /** The receiver has forgotten the module, or the module the receiver: neither answers the other by air. */
  readonly bindingLost: boolean
  /** Something destroyed the receiver before this session began. */
  readonly receiverDead: boolean
  /** From this octet of program flash on, one word no longer takes every bit. */
  readonly wornFlashAt: number | undefined
  /** The receiver sends nothing back by air while it flies. */
  readonly telemetrySilent: boolean
  /**
   * The end of the line that the update is sent from. `open`: it is not on the wire at all, so nobody hears it and it
   * hears nobody, itself neither. `deaf`: what it sends gets onto the wire, and it hears nothing of what is there.
   */
  readonly nearEnd: 'sound' | 'open' | 'deaf'
}

export type CardImage =
  | { readonly kind: 'as-chosen' }
  /** Bits changed after the image card was written; `atByte` counts from the start of the payload. */
  | { readonly kind: 'damaged'; readonly atByte: number }
  /** Another type's image; `labelled` false means that its card claims to be for the chosen receiver. */
  | { readonly kind: 'other-type'; readonly typeId: string | undefined; readonly labelled: boolean }

export type CutPoint =
  | { readonly at: 'effect'; readonly index: number }
  | { readonly at: 'flash-op'; readonly index: number; readonly when: 'before' | 'during' | 'after' }
  /** Counts the blocks written to program flash and nothing else. */
  | { readonly at: 'block'; readonly index: number; readonly when: 'before' | 'during' | 'after' }

export const calmWorld: World = {
  bitErrorRate: 0,
  cableLooseAtMs: undefined,
  powerCutAtMs: undefined,
  cut: undefined,
  supplyReturnsAfterMs: undefined,
  extraSupplyOhms: 0,
  sensorTalksForMs: undefined,
  settleMs: undefined,
  interference: { share: 0, dbm: -120 },
  cardPulledAtMs: undefined,
  cardImage: { kind: 'as-chosen' },
  batteryVoltsPerMinute: 0,
  antennaLossDb: 0,
  bindingLost: false,
  receiverDead: false,
  wornFlashAt: undefined,
  telemetrySilent: false,
  nearEnd: 'sound',
}

/** One session before it starts. */
export interface Setup {
  readonly bench: Bench
  readonly receiverId: string
  readonly route: Route
  readonly world: World
}
