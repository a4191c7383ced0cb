import type { Bench } from '../../shared/model/bench.ts'

export interface FleetViewProps {
  readonly bench: Bench
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  readonly onRehearse: () => void
}

export function FleetView({ bench, onRehearse }: FleetViewProps) {
  return (
    <button type="button" onClick={onRehearse}>
      {bench.name}: rehearse an update
    </button>
  )
}
