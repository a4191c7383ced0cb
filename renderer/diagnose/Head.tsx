import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { ReceiverChoice } from '../ui/ReceiverChoice.tsx'

export interface HeadProps {
  readonly bench: Bench
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  /** Given where there is something to begin again. */
  readonly onStartAnew?: () => void
  /** To the practice, on a simulated table. */
  readonly onPractise: () => void
}

/** Where the focus goes when the practice is left. */
export const PRACTISE_ID = 'dg-practise'

export function Head({ bench, receiverId, onChooseReceiver, onStartAnew, onPractise }: HeadProps) {
  return (
    <header className="dg-head">
      <h1>Diagnose</h1>
      {bench.receivers.length > 0 && (
        <ReceiverChoice receivers={bench.receivers} receiverId={receiverId} onChoose={onChooseReceiver} />
      )}
      <span className="dg-spring" />
      {onStartAnew && (
        <Button kind="quiet" onClick={onStartAnew}>
          Start anew
        </Button>
      )}
      <Button id={PRACTISE_ID} onClick={onPractise}>
        Practise
      </Button>
    </header>
  )
}
