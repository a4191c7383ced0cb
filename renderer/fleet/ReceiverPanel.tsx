import { useMemo, useState } from 'react'
import { type Finding, type Remedy, withUnit } from '../../shared/fit/rule.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark, type StatusRole, StatusShape } from '../ui/StatusMark.tsx'
import { receiverFields } from './fields-gear.ts'
import { bandWords, looseWords } from './Matrix.tsx'
import { show } from './show.ts'
import {
  type Concern,
  cellsOf,
  concernOf,
  effectOf,
  isChange,
  type Standing,
  type Step,
  stepName,
  stepStatus,
  stepWords,
} from './step.ts'

export interface ReceiverPanelProps {
  readonly bench: Bench
  readonly standing: Standing
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly onOpen: () => void
  readonly onCopy: () => void
  readonly onDelete: () => void
  readonly onRehearse: () => void
}

const byAirWords: Readonly<Record<Step, string>> = {
  'in-step': 'possible',
  'out-of-step': 'not offered',
  'not-known': 'not known',
}

const SHOWN = ['typeId', 'firmware', 'generation', 'region', 'hardwareRevision', 'boundTo']

/** Explains the chosen receiver: what it is, what the rules found, and what would put it right. */
export function ReceiverPanel(props: ReceiverPanelProps) {
  const { bench, standing, onOpen, onCopy, onDelete, onRehearse } = props
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
        <Button kind="primary" onClick={onRehearse}>
          Rehearse an update
        </Button>
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

const concernWords: Readonly<Record<Concern, string>> = {
  link: 'Receiver and module',
  'by-air': 'An update by air',
  table: 'The table',
  image: 'The image',
}

function OpenFindings(props: ReceiverPanelProps) {
  const { findings } = props.standing
  const open = findings.filter(finding => finding.holds !== 'yes')
  const concerns = (Object.keys(concernWords) as Concern[]).filter(concern =>
    open.some(finding => concernOf(finding) === concern),
  )
  if (findings.length === 0)
    return (
      <p className="fleet-fine">The type of this receiver is not on the bench, so nothing can be checked.</p>
    )
  if (open.length === 0) return <p className="fleet-fine">Nothing stands against an update by air.</p>
  return concerns.map(concern => (
    <section key={concern} className="fleet-concern" aria-label={concernWords[concern]}>
      <h3>{concernWords[concern]}</h3>
      {open
        .filter(finding => concernOf(finding) === concern)
        .map(finding => (
          <FindingItem key={finding.rule.id} {...props} finding={finding} />
        ))}
    </section>
  ))
}

function Settled(props: ReceiverPanelProps) {
  const settled = props.standing.findings.filter(finding => finding.holds === 'yes')
  if (settled.length === 0) return null
  return (
    <details className="fleet-settled">
      <summary>What holds ({settled.length})</summary>
      {settled.map(finding => (
        <FindingItem key={finding.rule.id} {...props} finding={finding} />
      ))}
    </details>
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

function statusOf(finding: Finding): { status: StatusRole; word: string } {
  if (finding.holds === 'yes') return { status: 'good', word: 'holds' }
  if (finding.holds === 'unknown') return { status: 'unknown', word: 'not known' }
  return finding.rule.severity === 'block'
    ? { status: 'danger', word: 'does not hold' }
    : { status: 'caution', word: 'take care' }
}

function FindingItem(props: ReceiverPanelProps & { readonly finding: Finding }) {
  const { finding } = props
  const { status, word } = statusOf(finding)
  return (
    <article className="fleet-finding" aria-label={finding.rule.claim}>
      <StatusMark status={status}>{word}</StatusMark>
      <p>{finding.sentence}</p>
      {finding.evidence.length > 0 && (
        <dl className="fleet-evidence">
          {finding.evidence.map(item => (
            <div key={item.label}>
              <dt>{item.label}</dt>
              <dd className={item.known ? undefined : 'fleet-none'}>{item.value}</dd>
            </div>
          ))}
        </dl>
      )}
      {finding.remedies.map(remedy => (
        <RemedyItem key={remedy.id} {...props} remedy={remedy} />
      ))}
      <p className="fleet-source">{finding.rule.source}</p>
    </article>
  )
}

const names = (list: readonly string[]) =>
  list.length <= 3 ? list.join(', ') : `${list.slice(0, 2).join(', ')} and ${list.length - 2} more`

/** A change of the bench is a button, with what it does to others; another way to go is said in words. */
function RemedyItem({
  bench,
  standing,
  onChangeBench,
  remedy,
}: ReceiverPanelProps & { readonly remedy: Remedy }) {
  const receiverId = standing.receiver.id
  const effect = useMemo(
    () => (isChange(remedy) ? effectOf(bench, remedy, receiverId) : undefined),
    [bench, remedy, receiverId],
  )
  if (effect === undefined) return <p className="fleet-advice">{remedy.label}</p>
  return (
    <div className="fleet-remedy">
      <Button onClick={() => onChangeBench(stepName(remedy.label), remedy.apply(bench))}>
        {stepName(remedy.label)}
      </Button>
      <p>
        About {remedy.minutes} min on the real thing{remedy.reversible ? '' : ', with no way back'}.
      </p>
      {effect.gains.length > 0 && (
        <p className="fleet-side-effect ui-status-good">
          <span className="ui-status">
            <StatusShape status="good" />
          </span>
          Brings into step as well: {names(effect.gains)}.
        </p>
      )}
      {effect.loses.length > 0 && (
        <p className="fleet-side-effect ui-status-caution">
          <span className="ui-status">
            <StatusShape status="caution" />
          </span>
          Puts out of step: {names(effect.loses)}.
        </p>
      )}
    </div>
  )
}
