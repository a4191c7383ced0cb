import type { LibraryEntry } from '../../shared/library/entry.ts'
import type { RehearsalReport, RehearsalRequest } from '../../shared/rehearse/report.ts'
import type { PackedTrace } from '../../shared/sim/pack.ts'

export interface RehearsalReply {
  readonly report: RehearsalReport
  readonly trace: PackedTrace
  /** The whole program flash afterwards. */
  readonly flash: Uint8Array
}

/** The part of the contract that this view uses. */
export interface RehearseClient {
  call(method: 'rehearse.run', request: RehearsalRequest): Promise<RehearsalReply>
  call(method: 'library.list', request: object): Promise<{ readonly entries: readonly LibraryEntry[] }>
  on(event: 'library.changed', listener: () => void): () => void
}
