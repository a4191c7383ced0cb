/** Resistance of copper wire. */

const COPPER_OHM_METRES = 1.724e-8

/**
 * Diameter of a wire by American wire gauge.
 * @param awg 0..40
 * @returns millimetres; d = 0.127 mm * 92^((36 - n) / 39), ASTM B258
 */
export const awgDiameterMm = (awg: number): number => 0.127 * 92 ** ((36 - awg) / 39)

/** @returns ohms per metre of one conductor at 20 degrees Celsius, copper at 1.724e-8 ohm metres (IEC 60028) */
export function awgOhmsPerMetre(awg: number): number {
  const radiusMetres = awgDiameterMm(awg) / 2000
  return COPPER_OHM_METRES / (Math.PI * radiusMetres ** 2)
}

/** Both conductors of a lead, there and back. */
export const leadOhms = (lengthMetres: number, awg: number): number => 2 * lengthMetres * awgOhmsPerMetre(awg)
