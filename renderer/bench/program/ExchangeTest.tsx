import { useDeferredValue, useId, useMemo, useState } from 'react'
import { testDialect } from '../../../shared/dialect/exchange.ts'
import type { ExchangeReport } from '../../../shared/dialect/exchange-report.ts'
import { MOST_EXCHANGE_CHARACTERS } from '../../../shared/dialect/exchange-text.ts'
import type { Dialect } from '../../../shared/dialect/schema.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { TraceSoFar } from '../../../shared/sim/trace-so-far.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import type { ProgramClient } from './client.ts'
import type { WriteDesk } from './desk.ts'
import { exchangeOf } from './exchange-of.ts'
import { fetchTrace } from './fetch-trace.ts'
import { dropInto, type TakenFile, TextFile } from './TextFile.tsx'
import { useWrites } from './use-desk.ts'

interface ExchangeTestProps {
  readonly dialect: Dialect | undefined
  readonly client: ProgramClient
  readonly writes: WriteDesk
  readonly text: string
  readonly onType: (text: string) => void
}

/** What is typed or pasted on the right, held against the dialect on the left octet for octet as it is typed. */
export function ExchangeTest({ dialect, client, writes, text, onType }: ExchangeTestProps) {
  const [refused, setRefused] = useState<Problem>()
  const id = useId()
  const take = (taken: TakenFile) => {
    if (taken.ok) onType(taken.text)
    setRefused(taken.ok ? undefined : taken.problem)
  }
  const [now, exchange] = [useDeferredValue(dialect), useDeferredValue(text)]
  const result = useMemo(
    () => (now === undefined || exchange.trim() === '' ? undefined : testDialect(now, exchange)),
    [now, exchange],
  )
  return (
    <div className="pg-editor-test">
      <div className="pg-text-head">
        <label htmlFor={id}>An exchange to test it against</label>
        <TextFile
          mostOctets={4 * MOST_EXCHANGE_CHARACTERS}
          accept=".txt,.log,text/plain"
          label="Recording to open"
          openWords="Open a recording…"
          onTaken={take}
        />
      </div>
      <textarea
        id={id}
        className="ui-input mono"
        spellCheck={false}
        value={text}
        placeholder={'→ 7F\n← 79'}
        aria-describedby={`${id}-how`}
        onChange={e => onType(e.target.value)}
        {...dropInto(4 * MOST_EXCHANGE_CHARACTERS, take)}
      />
      <p id={`${id}-how`} className="pg-small pg-soft">
        Recorded or typed: → or &gt; before what goes to the receiver, ← or &lt; before what comes from it,
        octets in hexadecimal. What follows # is passed over.
      </p>
      {refused !== undefined && <ProblemList problems={[refused]} onClose={() => setRefused(undefined)} />}
      <FromWrites client={client} writes={writes} onTake={onType} />
      <div role="status" className="pg-test-result">
        {dialect === undefined ? (
          <p className="pg-soft">The dialect has to be readable first.</p>
        ) : result === undefined ? (
          <p className="pg-soft">Nothing to compare yet.</p>
        ) : result.ok ? (
          <Verdict report={result.value} />
        ) : (
          <ProblemList problems={result.problems as Problem[]} />
        )}
      </div>
      {result?.ok && result.value.recognised.length > 0 && <Recognised report={result.value} />}
    </div>
  )
}

const Verdict = ({ report }: { readonly report: ExchangeReport }) =>
  report.difference === undefined ? (
    <StatusMark status="good">They agree, octet for octet.</StatusMark>
  ) : (
    <div className="pg-difference">
      <StatusMark status="danger">The first difference</StatusMark>
      <p>{report.difference.text}</p>
    </div>
  )

interface FromWritesProps {
  readonly client: ProgramClient
  readonly writes: WriteDesk
  readonly onTake: (text: string) => void
}

/** What went over a real line just now is an exchange too. */
function FromWrites({ client, writes, onTake }: FromWritesProps) {
  const { lanes } = useWrites(writes)
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const take = async (lane: string) => {
    try {
      const soFar = new TraceSoFar()
      onTake((await fetchTrace(client, lane, soFar)) ? exchangeOf(soFar.whole()) : '')
      setProblems([])
    } catch (error) {
      setProblems(problemsOf(error))
    }
  }
  return (
    <>
      {lanes.map(({ lane, receiver, port }) => (
        <div key={lane}>
          <Button kind="quiet" onClick={() => void take(lane)}>
            Take the write to {receiver?.nickname ?? 'a receiver'} through {port.label}
          </Button>
        </div>
      ))}
      {problems.length > 0 && <ProblemList problems={problems} onClose={() => setProblems([])} />}
    </>
  )
}

const MOST_ROWS = 200

function Recognised({ report }: { readonly report: ExchangeReport }) {
  const rows = report.recognised.slice(0, MOST_ROWS)
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a box that scrolls has to be reachable by keyboard
    <section className="ui-table-frame pg-recognised" tabIndex={0} aria-label="What was recognised">
      <table className="ui-table">
        <thead>
          <tr>
            <th scope="col">Line</th>
            <th scope="col">Octets</th>
            <th scope="col">Step</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ line, to, hex, step, what, values }, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: they stand in the order of the exchange
            <tr key={i}>
              <th scope="row">{line}</th>
              <td className="mono">
                {to === 'receiver' ? '→' : '←'} {hex}
              </td>
              <td>
                {what} <span className="pg-small pg-soft mono">{step}</span>
                {Object.keys(values).length > 0 && (
                  <span className="pg-small pg-soft">
                    {' '}
                    {Object.entries(values)
                      .map(([name, value]) => `${name} = ${value}`)
                      .join(', ')}
                  </span>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
