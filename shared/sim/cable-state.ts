import type { CableUnit, Wiring } from '../model/gear.ts'
import { carries, swapsSupply } from '../wiring/feed.ts'
import type { CableWire, LaidWire } from './trace.ts'
import type { World } from './world.ts'

/** How the update cable lies on the line at the beginning, and what is said and drawn of it. */
export interface CableState {
  /** The signal gets through to the other end. */
  readonly isWhole: boolean
  /** A word for the screen. */
  readonly state: string
  readonly alive: boolean
  /** Those that are not broken; one that gets nothing at the near end is marked. */
  readonly wires: readonly LaidWire[]
}

export function cableStateOf(
  cable: CableUnit | undefined,
  nearEnd: World['nearEnd'],
  cableFeed: Wiring['cableFeed'],
): CableState {
  const isWhole = nearEnd !== 'open' && carries(cable, 'signal') && carries(cable, 'negative')
  const wires = (cable?.wires ?? []).map(
    (w): LaidWire => (nearEnd === 'open' && w.from === 'signal' ? { ...w, isOff: true } : w),
  )
  const said = isWhole ? troubleOf(cable, nearEnd, cableFeed) : whyNotWhole(cable, nearEnd)
  return { isWhole, state: said ?? 'connected', alive: said === undefined, wires }
}

function whyNotWhole(cable: CableUnit | undefined, nearEnd: World['nearEnd']): string {
  if (nearEnd === 'open') return 'no signal gets into it'
  if (swapsSupply(cable)) return 'supply reversed'
  const isThere = (from: CableWire['from']) => cable?.wires.some(w => w.from === from)
  if (!isThere('signal') && isThere('negative')) return 'signal wire open'
  if (!isThere('negative') && isThere('signal')) return 'negative wire open'
  return 'no signal through it'
}

function troubleOf(
  cable: CableUnit | undefined,
  nearEnd: World['nearEnd'],
  cableFeed: Wiring['cableFeed'],
): string | undefined {
  if (nearEnd === 'deaf') return 'no answer is heard'
  // A cable without a positive wire is as it should be where the receiver has a supply of its own.
  return cableFeed !== 'own-supply' && !carries(cable, 'positive') ? 'positive wire open' : undefined
}
