import type { Dice } from '../../shared/sim/dice.ts'

export { type Dice, dice } from '../../shared/sim/dice.ts'

/** A whole number from 0 up to, but not including, `end`. */
export const below = (dice: Dice, end: number): number => Math.floor(dice.between(0, end))
