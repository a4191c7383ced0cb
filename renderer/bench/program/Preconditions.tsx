import type { Precondition, PreconditionId } from '../../../shared/bench-run/check.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusMark, type StatusRole } from '../../ui/StatusMark.tsx'
import { type StepId, stepTitles } from './steps.ts'

const marks: Readonly<Record<Precondition['holds'], { readonly status: StatusRole; readonly word: string }>> =
  {
    yes: { status: 'good', word: 'holds' },
    no: { status: 'danger', word: 'does not hold' },
    unknown: { status: 'unknown', word: 'not known' },
  }

/** Where each is put right. */
export const stepOf: Readonly<Record<PreconditionId, StepId>> = {
  port: 'port',
  wiring: 'wiring',
  supply: 'wiring',
  dialect: 'what',
  image: 'what',
  rehearsed: 'rehearse',
  cautions: 'look',
}

export interface PreconditionsProps {
  readonly list: readonly Precondition[]
  /** The step in which they are shown: for what is put right here there is no way to it. */
  readonly here: StepId
  readonly onGo: (step: StepId) => void
}

/** What must hold before the first octet, each with why and what would make it hold. */
export function Preconditions({ list, here, onGo }: PreconditionsProps) {
  if (list.length === 0) return null
  return (
    <ul className="pg-checks" aria-label="What must hold">
      {list.map(({ id, claim, holds, why, cure }) => (
        <li key={id} className={`pg-check pg-check-${holds}`}>
          <div className="pg-check-mark">
            <StatusMark status={marks[holds].status}>{marks[holds].word}</StatusMark>
          </div>
          <div>
            <p>{claim}</p>
            {holds !== 'yes' && why.length > 0 && (
              <ul className="pg-why">
                {why.map(text => (
                  <li key={text}>{text}</li>
                ))}
              </ul>
            )}
            {holds !== 'yes' && cure !== null && (
              <p>
                <strong>What to do:</strong> {cure}
              </p>
            )}
          </div>
          {holds !== 'yes' && stepOf[id] !== here && (
            <Button kind="quiet" onClick={() => onGo(stepOf[id])}>
              To “{stepTitles[stepOf[id]]}”
            </Button>
          )}
        </li>
      ))}
    </ul>
  )
}
