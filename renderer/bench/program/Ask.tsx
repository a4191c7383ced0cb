import { Button } from '../../ui/Button.tsx'

interface AskProps {
  readonly question: string
  readonly yes: string
  readonly no?: string
  readonly onYes: () => void
  readonly onNo: () => void
}

/** A question in place, before something that cannot be taken back. */
export const Ask = ({ question, yes, no = 'No, stay here', onYes, onNo }: AskProps) => (
  <div
    className="pg-cancel"
    role="alertdialog"
    aria-label={question}
    onKeyDown={e => e.key === 'Escape' && onNo()}
  >
    <p>{question}</p>
    <div className="app-buttons">
      <Button kind="danger" autoFocus onClick={onYes}>
        {yes}
      </Button>
      <Button onClick={onNo}>{no}</Button>
    </div>
  </div>
)
