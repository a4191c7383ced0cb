import type { WiringCheck } from '../../../shared/wiring/check.ts'
import type { WiringFinding } from '../../../shared/wiring/finding.ts'

export interface Stand {
  /** Why the dialect that is chosen cannot be spoken over this wiring; the dialect is changed then, not the cable. */
  readonly wrongWay: string | undefined
  /** Nothing but the dialect is against it. */
  readonly isElseSafe: boolean
  /** What is left to hands and eyes before there is power. */
  readonly lookOut: readonly string[]
}

/** What of the wiring is put right by another dialect, and what is left to hands and eyes. */
export function standOf(wired: Pick<WiringCheck, 'findings'> | undefined): Stand {
  const open = wired?.findings.filter(f => f.severity !== 'ok') ?? []
  const isOfDialect = (f: WiringFinding) => f.code === 'needs-two-lines'
  return {
    wrongWay: open.find(isOfDialect)?.why,
    isElseSafe: open.every(f => isOfDialect(f) || f.severity === 'warn'),
    lookOut: open.filter(f => f.severity === 'warn').map(f => f.why),
  }
}
