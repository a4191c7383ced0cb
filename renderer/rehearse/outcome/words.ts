import type { Outcome } from '../../../shared/procedure/effects.ts'
import type { FindingReport, RehearsalReport } from '../../../shared/rehearse/report.ts'

export type Tone = 'good' | 'caution' | 'danger'

/** Each outcome has a word, a shape and a tone, so that colour never stands alone. */
export const outcomeMarks: Readonly<
  Record<Outcome, { readonly word: string; readonly mark: string; readonly tone: Tone }>
> = {
  updated: { word: 'Updated', mark: '✓', tone: 'good' },
  unchanged: { word: 'Unchanged', mark: '=', tone: 'caution' },
  'needs-cable': { word: 'Needs the cable', mark: '!', tone: 'caution' },
  'needs-boot-rom': { word: 'Needs the chip’s own loader', mark: '!!', tone: 'danger' },
  destroyed: { word: 'Destroyed', mark: '✕', tone: 'danger' },
}

export const holdsWords: Readonly<
  Record<FindingReport['holds'], { readonly word: string; readonly mark: string }>
> = {
  no: { word: 'does not hold', mark: '✕' },
  unknown: { word: 'not known', mark: '?' },
  yes: { word: 'holds', mark: '✓' },
}

const ORDER: Readonly<Record<FindingReport['holds'], number>> = { no: 0, unknown: 1, yes: 2 }
const WEIGHT: Readonly<Record<FindingReport['severity'], number>> = { block: 0, warn: 1 }

/** Rules that do not hold first, those that block before those that warn; otherwise as they came. */
export const inOrderOfWeight = (findings: readonly FindingReport[]): FindingReport[] =>
  findings
    .map((finding, i) => ({ finding, i }))
    .sort(
      (a, b) =>
        ORDER[a.finding.holds] - ORDER[b.finding.holds] ||
        WEIGHT[a.finding.severity] - WEIGHT[b.finding.severity] ||
        a.i - b.i,
    )
    .map(({ finding }) => finding)

/** What the simulated flash holds against the image, in words. */
export function sayFlash(report: RehearsalReport): string {
  if (report.flashEqualsImage)
    return `The simulated flash equals the image, all ${report.image.bytes.toLocaleString('en')} octets.`
  if (report.outcome === 'unchanged') return 'The simulated flash does not hold this image.'
  return 'The simulated flash differs from the image.'
}

export const sayDuration = (ms: number): string => {
  if (ms < 10_000) return `${(ms / 1000).toFixed(2)} s`
  if (ms < 120_000) return `${(ms / 1000).toFixed(1)} s`
  const seconds = Math.round(ms / 1000)
  return `${Math.floor(seconds / 60)} min ${seconds % 60} s`
}
