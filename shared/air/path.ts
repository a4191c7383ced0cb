/** How much of a signal is left at the other end. */

/**
 * Free-space basic transmission loss between isotropic antennas.
 * @returns dB; 32.4 + 20 log f(MHz) + 20 log d(km), ITU-R P.525
 */
export const freeSpaceLossDb = (megahertz: number, metres: number): number =>
  32.4 + 20 * Math.log10(megahertz) + 20 * Math.log10(metres / 1000)

/**
 * Loss over flat ground, where the reflected path cancels the direct one: 40 log d - 20 log(h1 h2).
 * From memory, plane-earth model of the handbooks; holds beyond its crossing with free space only.
 */
export const planeEarthLossDb = (metres: number, heightMetres: number): number =>
  40 * Math.log10(metres) - 40 * Math.log10(heightMetres)

/** Radio and model on a bench or in a hand. */
const BENCH_HEIGHT_METRES = 1.2

/** The larger of both losses: free space near by, plane earth far out. */
export const pathLossDb = (megahertz: number, metres: number): number =>
  Math.max(freeSpaceLossDb(megahertz, metres), planeEarthLossDb(metres, BENCH_HEIGHT_METRES))

export interface LinkEnds {
  readonly megahertz: number
  readonly metres: number
  readonly powerDbm: number
  readonly transmitGainDbi: number
  readonly receiveGainDbi: number
  readonly sensitivityDbm: number
  readonly overloadDbm: number
}

/** Power at the receiver's input, in dBm. */
export const receivedDbm = (ends: LinkEnds): number =>
  ends.powerDbm + ends.transmitGainDbi + ends.receiveGainDbi - pathLossDb(ends.megahertz, ends.metres)

/** dB above the sensitivity. */
export const linkMarginDb = (ends: LinkEnds): number => receivedDbm(ends) - ends.sensitivityDbm

/** At sensitivity one bit in a thousand is wrong; the usual definition for such links, common practice. */
const BER_AT_SENSITIVITY = 1e-3

/**
 * Bit error probability of non-coherent binary frequency-shift keying, 0.5 exp(-snr / 2), with the signal-to-noise
 * ratio that gives one in a thousand at the sensitivity.
 * From memory: Proakis, Digital Communications, chapter on non-coherent detection.
 */
export function bitErrorProbability(marginDb: number): number {
  const atSensitivity = -2 * Math.log(2 * BER_AT_SENSITIVITY)
  return 0.5 * Math.exp((-atSensitivity * 10 ** (marginDb / 10)) / 2)
}

/**
 * Probability that a frame of so many bits is spoilt, for independent bit errors: 1 - (1 - p)^n.
 * Source: F. Gebali, Analysis of Computer and Communication Networks, Springer 2008, eq. 9.2.
 */
export const frameErrorProbability = (bitError: number, bits: number): number =>
  -Math.expm1(bits * Math.log1p(-bitError))

/** Margin that an update should have in hand: a hand or a wing in the way takes as much. Common practice. */
export const WANTED_MARGIN_DB = 10
