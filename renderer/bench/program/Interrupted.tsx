import { useState } from 'react'
import { Button } from '../../ui/Button.tsx'
import { useReturnFocus } from '../../ui/use-return-focus.ts'
import { Ask } from './Ask.tsx'
import type { Interrupted } from './client.ts'
import '../guide/left.css'

interface BrokenOffProps {
  readonly sessions: readonly Interrupted[]
  readonly onPutRight: (session: Interrupted) => void
  readonly onSettle: (sessionId: string) => void
}

type One = Omit<BrokenOffProps, 'sessions'> & { readonly session: Interrupted }

/** Writes that broke off with the program or the power: what the receiver is in now, by what was written down. */
export function BrokenOff({ sessions, onPutRight, onSettle }: BrokenOffProps) {
  return sessions.map(session => (
    <Session key={session.sessionId} session={session} onPutRight={onPutRight} onSettle={onSettle} />
  ))
}

function Session({ session, onPutRight, onSettle }: One) {
  const [isAsking, setAsking] = useState(false)
  const opener = useReturnFocus<HTMLButtonElement>(isAsking)
  return (
    <section className="gd-left" aria-label="A write that broke off">
      <div>
        <h2>A write broke off{session.receiver === null ? '' : `: ${session.receiver.nickname}`}</h2>
        <p>
          Begun {new Date(session.startedAtMs).toLocaleString()}
          {session.port === null ? '' : ` through ${session.port}`}
          {session.image === null ? '' : `, ${session.image}`}. <strong>{session.stateWords}</strong>{' '}
          {session.nextWords}
        </p>
      </div>
      {isAsking ? (
        <Ask
          question="Then it is not told of any more. Does the receiver run, or has it been written again?"
          yes="Yes, it has been seen to"
          onYes={() => onSettle(session.sessionId)}
          onNo={() => setAsking(false)}
        />
      ) : (
        <div className="app-buttons">
          <Button kind="primary" onClick={() => onPutRight(session)}>
            Put it right
          </Button>
          <Button ref={opener} onClick={() => setAsking(true)}>
            It has been seen to…
          </Button>
        </div>
      )}
    </section>
  )
}
