import type { LaidWire } from '../../../shared/sim/trace.ts'

/** The pins of a servo plug, from the top. Common practice, no source. */
export const PINS = [
  { name: 'S', y: 12, kind: 'signal' },
  { name: '+', y: 30, kind: 'positive' },
  { name: '−', y: 48, kind: 'negative' },
] as const
type Pin = (typeof PINS)[number]

export interface DrawnWire {
  readonly pin: Pin
  /** Broken, while others of this cable are not. */
  readonly isOpen: boolean
  /** Whole, but its near end meets no pin. */
  readonly isOff: boolean
  /** In a box of 120 by 60; one that is broken has a gap in the middle, one that meets no pin ends short of it. */
  readonly paths: readonly string[]
}

/**
 * One wire for each pin of the near end: straight, across to another pin, broken, or off its pin.
 * @param wires those of the cable that are whole
 * @param isFed whether its positive wire feeds the receiver; where it does not, none is missed
 */
export function drawnWires(wires: readonly LaidWire[], isFed: boolean): DrawnWire[] {
  return PINS.map(pin => {
    const wire = wires.find(w => w.from === pin.kind)
    const isUnused = pin.kind === 'positive' && !isFed
    if (wire === undefined || isUnused)
      return {
        pin,
        isOpen: wire === undefined && !isUnused && wires.length > 0,
        isOff: false,
        paths: [`M0 ${pin.y}H50`, `M70 ${pin.y}H120`],
      }
    const far = PINS.find(p => p.kind === wire.to) ?? pin
    const isOff = wire.isOff === true
    const start = isOff ? OFF_FROM : 0
    const path = far === pin ? `M${start} ${pin.y}H120` : `M${start} ${pin.y}H40L80 ${far.y}H120`
    return { pin, isOpen: false, isOff, paths: isOff ? [endAt(OFF_FROM, pin), path] : [path] }
  })
}

/** Where a wire that meets no pin ends, and how far up and down that end is drawn. */
const OFF_FROM = 18
const END_HALF = 5
const endAt = (x: number, { y }: Pin): string => `M${x} ${y - END_HALF}V${y + END_HALF}`
