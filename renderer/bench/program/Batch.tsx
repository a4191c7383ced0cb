import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { Caution } from '../guide/Caution.tsx'
import type { BatchReport } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { identityParts, outcomeSaid } from './words.ts'

/** One after another: what each port waits for, and what has come of those before. */
export function Batch({ batch, desk }: { readonly batch: BatchReport; readonly desk: WriteDesk }) {
  return (
    <section className="pg-batch" aria-label="Batch">
      <header className="pg-lane-head">
        <div>
          <h3>{batch.running ? 'A batch is running' : 'The batch has ended'}</h3>
          <p className="pg-tally" role="status">
            <StatusMark status={batch.done > 0 ? 'good' : 'unknown'}>{`${batch.done} done`}</StatusMark>
            <StatusMark
              status={batch.failed > 0 ? 'danger' : 'unknown'}
            >{`${batch.failed} failed`}</StatusMark>
          </p>
        </div>
        {batch.running ? (
          <Button onClick={() => desk.stopBatch()}>Stop the batch</Button>
        ) : (
          <Button onClick={() => desk.closeBatch()}>Close</Button>
        )}
      </header>
      {batch.running && (
        <>
          <p className="pg-small pg-soft">
            Stopping lets writes that run go on to their end, and begins none after them.
          </p>
          <Caution>
            A receiver is written as soon as it is plugged in and has named itself. Look at each one before
            that: propeller or rotor off, fed as the plan says and by nothing else, nobody near it.
          </Caution>
          <ul className="pg-batch-ports" aria-label="Ports of the batch">
            {batch.ports.map(({ key, label, waiting, lane }) => (
              <li key={key} className={lane === null ? undefined : 'pg-batch-busy'}>
                <strong>{label}</strong>
                <span className="pg-batch-waiting">{waiting}</span>
              </li>
            ))}
          </ul>
        </>
      )}
      {batch.tally.length > 0 && <Tally batch={batch} />}
    </section>
  )
}

function Tally({ batch }: { readonly batch: BatchReport }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="ui-table-frame pg-tally-table" tabIndex={0} aria-label="Tally, newest first">
      <table className="ui-table">
        <thead>
          <tr>
            <th scope="col">Time</th>
            <th scope="col">Port</th>
            <th scope="col">Receiver</th>
            <th scope="col">What came of it</th>
          </tr>
        </thead>
        <tbody>
          {batch.tally.toReversed().map(({ atMs, port, identity, outcome, text }) => (
            <tr key={`${atMs} ${port}`}>
              <th scope="row">{new Date(atMs).toLocaleTimeString()}</th>
              <td>{port}</td>
              <td>
                <Who identity={identity} />
              </td>
              <td>
                <Outcome outcome={outcome} />
                <p className="pg-small pg-soft">{text}</p>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** At a glance what it is and what it runs; the rest of what it says of itself is a click away. */
function Who({ identity }: { readonly identity: string }) {
  const { first, more } = identityParts(identity)
  if (more.length === 0) return first
  return (
    <>
      {first}
      <details className="pg-who">
        <summary>{more.length} more</summary>
        {more.join(', ')}
      </details>
    </>
  )
}

function Outcome({ outcome }: { readonly outcome: string }) {
  const said = Object.entries(outcomeSaid).find(([id]) => id === outcome)?.[1]
  return said === undefined ? (
    <strong>{outcome}</strong>
  ) : (
    <StatusMark status={said.status}>{said.word}</StatusMark>
  )
}
