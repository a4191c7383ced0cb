import type { Difference } from '../../../shared/bench-run/lane.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusGlyph } from '../../ui/StatusMark.tsx'
import { partName, type Strip, type StripPart, sayRow } from './strip.ts'
import { differenceWords, sayRehearsedAndSeen, saySeconds, severitySaid, stepWords } from './words.ts'

interface StepStripProps {
  readonly strip: Strip
  readonly hasReal: boolean
  /** Shows a mark in the picture of the line, where there is one. @param atMs since the session began */
  readonly onShow?: (atMs: number) => void
}

/** Two rows on one scale: as rehearsed, and as it is. Where they differ there is a mark with its word. */
export function StepStrip({ strip, hasReal, onShow }: StepStripProps) {
  return (
    <div className="pg-strip">
      {strip.rehearsed.length > 0 && <Row name="Rehearsed" kind="rehearsed" parts={strip.rehearsed} />}
      {hasReal && <Row name="Real" kind="real" parts={strip.real} marks={strip} />}
      <p className="pg-strip-scale pg-small pg-soft" aria-hidden="true">
        <span>0</span>
        <span>{saySeconds(strip.wholeMs)}</span>
      </p>
      {strip.marks.length > 0 && (
        <ul className="pg-differs" aria-label="Where it differs from the rehearsal">
          {strip.marks.map(({ key, difference }) => (
            <Differs key={key} difference={difference} onShow={onShow} />
          ))}
        </ul>
      )}
    </div>
  )
}

interface DiffersProps {
  readonly difference: Difference
  readonly onShow: StepStripProps['onShow']
}

function Differs({ difference: { atMs, kind, severity, step, ...words }, onShow }: DiffersProps) {
  const { word, status } = severitySaid[severity]
  const what = `${differenceWords[kind]}, ${stepWords[step]}`
  return (
    <li className={`pg-differs-${severity}`}>
      <span className="pg-differs-word">
        <svg viewBox="0 0 12 12" aria-hidden="true">
          <StatusGlyph status={status} />
        </svg>
        {word}
      </span>
      <span>
        <strong>{differenceWords[kind]}</strong>, {stepWords[step]}. {sayRehearsedAndSeen(words)}
      </span>
      {onShow !== undefined && (
        <Button kind="quiet" onClick={() => onShow(atMs)} aria-label={`Show on the line: ${what}`}>
          Show on the line
        </Button>
      )}
    </li>
  )
}

interface RowProps {
  readonly name: string
  readonly kind: 'rehearsed' | 'real'
  readonly parts: readonly StripPart[]
  readonly marks?: Strip
}

/** Too short for a box of its own. */
const THIN = 0.012

const percent = (share: number) => `${(share * 100).toFixed(2)}%`

function Row({ name, kind, parts, marks }: RowProps) {
  return (
    <div className={`pg-row pg-row-${kind}`}>
      <span className="pg-row-name pg-small">{name}</span>
      <div className="pg-row-parts" role="img" aria-label={sayRow(name, parts)}>
        {parts.map(part => (
          <span
            key={part.key}
            className={`pg-part${part.isRunning ? ' pg-part-running' : ''}${part.width < THIN ? ' pg-part-thin' : ''}`}
            style={{ left: percent(part.left), width: percent(part.width) }}
            title={`${stepWords[part.step]}: ${saySeconds(part.ms)}`}
          >
            {part.width > 0.055 && <span>{partName(part)}</span>}
          </span>
        ))}
        {marks?.marks.map(({ key, left, difference: { severity } }) => (
          <svg
            key={key}
            className={`pg-mark pg-mark-${severity}`}
            style={{ left: percent(left) }}
            viewBox="0 0 12 12"
            aria-hidden="true"
          >
            <StatusGlyph status={severitySaid[severity].status} />
          </svg>
        ))}
      </div>
    </div>
  )
}
