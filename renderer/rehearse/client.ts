import type { RehearsalMoment } from '../../shared/api/rehearse.ts'
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
  call(
    method: 'rehearse.run',
    request: RehearsalRequest & { readonly runId: string },
  ): Promise<RehearsalReply>
  call(method: 'rehearse.cancel', request: { readonly runId: string }): Promise<object>
  call(method: 'library.list', request: object): Promise<{ readonly entries: readonly LibraryEntry[] }>
  on(event: 'library.changed', listener: () => void): () => void
  on(
    event: 'rehearse.progress',
    listener: (told: { readonly runId: string; readonly moment: RehearsalMoment }) => void,
  ): () => void
}
