import type { Cure, WiringFinding } from '../../../shared/wiring/finding.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { severityWords } from './words.ts'

export interface FindingsProps {
  readonly findings: readonly WiringFinding[]
  /** The finding whose pin is pointed out in the drawing. */
  readonly shown: WiringFinding | undefined
  readonly onShow: (finding: WiringFinding | undefined) => void
  readonly onCure: (cure: Cure) => void
}

/** What was found, worst first, each with its pin and its cure; what is right folded away below. */
export function Findings({ findings, ...rest }: FindingsProps) {
  const open = findings.filter(f => f.severity !== 'ok')
  const right = findings.filter(f => f.severity === 'ok')
  return (
    <section className="wi-findings" aria-label="What was found">
      {open.length > 0 && <List findings={open} {...rest} />}
      {right.length > 0 && (
        <details open={open.length === 0}>
          <summary>What is right ({right.length})</summary>
          <List findings={right} {...rest} />
        </details>
      )}
    </section>
  )
}

function List({ findings, shown, onShow, onCure }: FindingsProps) {
  // The same cure for several findings is offered with the first.
  const offered = new Set<string>()
  const isNew = (cure: Cure | undefined) => {
    if (cure === undefined || offered.has(cure.label)) return false
    offered.add(cure.label)
    return true
  }
  return (
    <ul>
      {findings.map(finding => (
        <Item
          key={`${finding.code} ${finding.pin} ${finding.adapterPin} ${finding.why}`}
          finding={finding}
          isShown={finding === shown}
          onShow={onShow}
          cure={isNew(finding.cure) ? finding.cure : undefined}
          onCure={onCure}
        />
      ))}
    </ul>
  )
}

interface ItemProps {
  readonly finding: WiringFinding
  readonly isShown: boolean
  readonly onShow: FindingsProps['onShow']
  readonly cure: Cure | undefined
  readonly onCure: (cure: Cure) => void
}

function Item({ finding, isShown, onShow, cure, onCure }: ItemProps) {
  const { word, status } = severityWords[finding.severity]
  const where =
    finding.pin !== undefined
      ? `pin ${finding.pin}`
      : finding.adapterPin !== undefined
        ? `adapter pin ${finding.adapterPin}`
        : undefined
  return (
    <li className={`wi-finding wi-finding-${finding.severity}`}>
      <div className="wi-finding-head">
        <StatusMark status={status}>{word}</StatusMark>
        {where && (
          <Button
            kind="quiet"
            aria-pressed={isShown}
            className="wi-point"
            onClick={() => onShow(isShown ? undefined : finding)}
          >
            Show {where}
          </Button>
        )}
      </div>
      <p>{finding.why}</p>
      {cure && (
        <div className="wi-cure">
          <p>{cure.label}</p>
          <Button kind={finding.severity === 'danger' ? 'primary' : 'plain'} onClick={() => onCure(cure)}>
            {cure.apply ? 'I have done this' : 'Choose this'}
          </Button>
        </div>
      )}
    </li>
  )
}
