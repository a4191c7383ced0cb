import type { CableWire } from '../../../shared/sim/trace.ts'

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
  /** In a box of 120 by 60; a wire that joins nothing has a gap in the middle. */
  readonly paths: readonly string[]
}

/**
 * One wire for each pin of the near end: straight, across to another pin, or broken.
 * @param wires what the cable joins
 * @param isFed whether its positive wire feeds the receiver; where it does not, none is missed
 */
export function drawnWires(wires: readonly CableWire[], isFed: boolean): DrawnWire[] {
  return PINS.map(pin => {
    const wire = wires.find(w => w.from === pin.kind)
    const isUnused = pin.kind === 'positive' && !isFed
    if (wire === undefined || isUnused)
      return {
        pin,
        isOpen: wire === undefined && !isUnused && wires.length > 0,
        paths: [`M0 ${pin.y}H50`, `M70 ${pin.y}H120`],
      }
    const far = PINS.find(p => p.kind === wire.to) ?? pin
    const path = far === pin ? `M0 ${pin.y}H120` : `M0 ${pin.y}H40L80 ${far.y}H120`
    return { pin, isOpen: false, paths: [path] }
  })
}
