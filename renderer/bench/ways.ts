import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import type { RehearsalState } from '../rehearse/use-rehearsal.ts'
import type { PlanDesk } from './plan/use-plan.ts'

/** The ways in which a receiver is written. A way that is not here is not shown anywhere. */
export const WAYS = [
  {
    id: 'guide',
    name: 'The radio writes it',
    says: 'From its own card, by cable or by air. You are led through it, and every step is written down.',
  },
  {
    id: 'program',
    name: 'A programmer writes it',
    says: 'Through a USB serial adapter or a serial server, by the very procedure that was rehearsed.',
  },
] as const
export type WayId = (typeof WAYS)[number]['id']

/** What every way has in front of it. */
export interface WayProps {
  readonly bench: Bench
  readonly receiver: ReceiverUnit
  readonly plan: PlanDesk
  readonly rehearsal: RehearsalState
  /** To the Rehearse view, with this plan. */
  readonly onRehearse: () => void
}
