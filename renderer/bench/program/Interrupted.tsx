import { Button } from '../../ui/Button.tsx'
import type { Interrupted } from './client.ts'
import '../guide/left.css'

interface BrokenOffProps {
  readonly sessions: readonly Interrupted[]
  readonly onPutRight: (session: Interrupted) => void
  readonly onSettle: (sessionId: string) => void
}

/** Writes that broke off with the program or the power: what the receiver is in now, by what was written down. */
export function BrokenOff({ sessions, onPutRight, onSettle }: BrokenOffProps) {
  return sessions.map(session => (
    <section key={session.sessionId} className="gd-left" aria-label="A write that broke off">
      <div>
        <h2>A write broke off{session.receiver === null ? '' : `: ${session.receiver.nickname}`}</h2>
        <p>
          Begun {new Date(session.startedAtMs).toLocaleString()}
          {session.port === null ? '' : ` through ${session.port}`}
          {session.image === null ? '' : `, ${session.image}`}. <strong>{session.stateWords}</strong>{' '}
          {session.nextWords}
        </p>
      </div>
      <div className="app-buttons">
        <Button kind="primary" onClick={() => onPutRight(session)}>
          Put it right
        </Button>
        <Button onClick={() => onSettle(session.sessionId)}>It has been seen to</Button>
      </div>
    </section>
  ))
}
