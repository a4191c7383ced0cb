import type { Bench } from '../../shared/model/bench.ts'

export interface NewBenchProps {
  readonly onDone: (
    bench: Bench,
    receiverId: string,
    image: { fileName: string; octets: Uint8Array } | undefined,
  ) => void
  readonly onCancel: () => void
}

export function NewBench({ onCancel }: NewBenchProps) {
  return (
    <button type="button" onClick={onCancel}>
      Back
    </button>
  )
}
