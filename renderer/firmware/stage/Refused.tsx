import type { Finding } from '../../../shared/fit/rule.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import type { Listed } from '../listed.ts'

interface RefusedProps {
  readonly chosen: Listed
  readonly findings: readonly Finding[]
  readonly onClose: () => void
}

/** An image that does not fit the receiver does not go on the card for it, and here is why. */
export function Refused({ chosen, findings, onClose }: RefusedProps) {
  return (
    <Dialog
      title={`${chosen.name} does not go on the card for this receiver`}
      lead="An image that does not fit is kept off the card, so that nobody takes it by mistake."
      onClose={onClose}
      foot={
        <Button kind="primary" onClick={onClose}>
          Choose another image
        </Button>
      }
    >
      <ul className="st-rules">
        {findings.map(({ rule, holds, sentence, remedies }) => (
          <li key={rule.id}>
            <p>
              <strong>{rule.claim}</strong>{' '}
              {holds === 'unknown' ? 'That is not known.' : 'That does not hold.'}
            </p>
            <p>
              {sentence} {remedies[0]?.label}
            </p>
          </li>
        ))}
      </ul>
    </Dialog>
  )
}
