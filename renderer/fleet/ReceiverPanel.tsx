import { useState } from 'react'
import { withUnit } from '../../shared/fit/rule.ts'
import { isKnown } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark } from '../ui/StatusMark.tsx'
import { type FindingsProps, OpenFindings, Settled } from './Findings.tsx'
import { receiverFields } from './fields-gear.ts'
import { bandWords, looseWords } from './Matrix.tsx'
import { show } from './show.ts'
import { cellsOf, type Step, stepStatus, stepWords } from './step.ts'
import './side.css'

export interface ReceiverPanelProps extends FindingsProps {
  readonly onOpen: () => void
  readonly onCopy: () => void
  readonly onDelete: () => void
  readonly onRehearse: () => void
  readonly onFindOut: () => void
}

const byAirWords: Readonly<Record<Step, string>> = {
  'in-step': 'possible',
  'out-of-step': 'not offered',
  'not-known': 'not known',
}

const SHOWN = ['typeId', 'firmware', 'generation', 'region', 'hardwareRevision', 'boundTo']

/** Explains the chosen receiver: what it is, what the rules found, and what would put it right. */
export function ReceiverPanel(props: ReceiverPanelProps) {
  const { bench, standing, onOpen, onCopy, onDelete, onRehearse, onFindOut } = props
  const { receiver } = standing
  const type = bench.catalogue.receiverTypes.find(t => t.id === receiver.typeId)
  const facts = receiverFields.filter(field => SHOWN.includes(field.path))
  return (
    <aside className="fleet-side" aria-label="Chosen receiver">
      <header className="fleet-side-head">
        <h2>{receiver.nickname}</h2>
        <p className="fleet-standing">
          <span>
            With its module:{' '}
            <StatusMark status={stepStatus[standing.step]}>{stepWords[standing.step]}</StatusMark>
          </span>
          <span>
            Update by air:{' '}
            <StatusMark status={standing.byAir === 'out-of-step' ? 'caution' : stepStatus[standing.byAir]}>
              {byAirWords[standing.byAir]}
            </StatusMark>
          </span>
        </p>
        {isKnown(receiver.typeId) ? (
          <Button kind="primary" onClick={onRehearse}>
            Rehearse an update
          </Button>
        ) : (
          <Button kind="primary" onClick={onFindOut}>
            Find out what it is
          </Button>
        )}
        <p className="fleet-side-tools">
          <Button onClick={onOpen}>Open</Button>
          <Button onClick={onCopy}>Copy</Button>
          <Button kind="danger" onClick={onDelete}>
            Delete
          </Button>
        </p>
      </header>
      <div className="fleet-side-body">
        <OpenFindings {...props} />
        <section className="fleet-about" aria-label="About it">
          <h3>About it</h3>
          <dl className="fleet-facts">
            {facts.map(field => (
              <div key={field.path}>
                <dt>{field.label}</dt>
                <dd>{show(field, receiver, bench)}</dd>
              </div>
            ))}
            <div>
              <dt>Bands</dt>
              <dd>{type?.bands.map(bandWords).join(', ') ?? 'not known'}</dd>
            </div>
          </dl>
        </section>
        <OtherModules {...props} />
        <Settled {...props} />
      </div>
    </aside>
  )
}

/** The row of the matrix in sentences, and the binding changed where that would work. */
function OtherModules({ bench, standing, onChangeBench }: ReceiverPanelProps) {
  const [isOpen, setOpen] = useState(false)
  const { receiver } = standing
  const others = bench.modules.filter(module => module.id !== receiver.boundTo)
  const cells = isOpen
    ? cellsOf(
        bench,
        receiver,
        others.map(module => module.id),
      )
    : []
  if (others.length === 0) return null
  return (
    <details className="fleet-settled" open={isOpen} onToggle={e => setOpen(e.currentTarget.open)}>
      <summary>With the other modules ({others.length})</summary>
      <ul className="fleet-others">
        {cells.map((cell, i) => {
          const module = others[i]
          return (
            <li key={module.id}>
              <strong>{module.nickname}</strong>
              <StatusMark status={cell.step === 'out-of-step' ? 'caution' : stepStatus[cell.step]}>
                {looseWords[cell.step]}
              </StatusMark>
              {cell.because && <p>{cell.because}</p>}
              {cell.step === 'in-step' && (
                <Button
                  onClick={() =>
                    onChangeBench(
                      `Bind ${receiver.nickname} to ${module.nickname}`,
                      withUnit(bench, 'receivers', receiver.id, { boundTo: module.id }),
                    )
                  }
                >
                  Bind to this one
                </Button>
              )}
            </li>
          )
        })}
      </ul>
    </details>
  )
}
