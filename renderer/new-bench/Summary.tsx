import { useEffect, useRef } from 'react'
import { Button } from '../ui/Button.tsx'
import { Notice } from '../ui/Notice.tsx'
import { PARTS, partWords } from './assumed.ts'
import type { NewBenchResult } from './new-bench.ts'

export interface SummaryProps {
  readonly made: NewBenchResult
  readonly onBack: () => void
  readonly onDone: () => void
}

/** The last page: what was assumed and what stays open, so that nobody takes a guess for knowledge. */
export function Summary({ made, onBack, onDone }: SummaryProps) {
  const heading = useRef<HTMLHeadingElement>(null)
  useEffect(() => {
    requestAnimationFrame(() => heading.current?.focus())
  }, [])
  const supplyAssumed = made.assumed.find(a => a.part === 'receiver' && /supply/i.test(a.what))
  const { leastVolts, mostVolts } = made.bench.catalogue.receiverTypes[0].supply
  return (
    <form
      className="new-bench-page new-bench-summary"
      aria-labelledby="new-bench-ready"
      onSubmit={event => {
        event.preventDefault()
        onDone()
      }}
    >
      <h1 id="new-bench-ready" ref={heading} tabIndex={-1}>
        Ready to rehearse {made.bench.receivers[0].nickname}
      </h1>
      <p className="new-bench-help">
        The simulated devices need a value for everything. Here is what was filled in for you. You can correct
        all of it later in Fleet.
      </p>
      {supplyAssumed && (
        <Notice kind="caution">
          That the receiver takes {leastVolts} to {mostVolts} V is partly or wholly a guess. Read its label
          before you connect a real one.
        </Notice>
      )}
      <section aria-labelledby="new-bench-assumed">
        <h2 id="new-bench-assumed">Assumed, because nobody knows</h2>
        {PARTS.map(part => {
          const assumed = made.assumed.filter(a => a.part === part)
          return assumed.length === 0 ? null : (
            <div key={part} className="new-bench-part">
              <h3>{partWords[part]}</h3>
              <dl>
                {assumed.map(a => (
                  <div key={a.what}>
                    <dt>{a.what}</dt>
                    <dd>
                      {a.value}
                      {a.from && <small>{a.from}</small>}
                    </dd>
                  </div>
                ))}
              </dl>
            </div>
          )
        })}
      </section>
      <section aria-labelledby="new-bench-open">
        <h2 id="new-bench-open">Left open</h2>
        <p className="new-bench-help">
          Not known, and never taken for fine: the rehearsal says where it matters.
        </p>
        {PARTS.map(part => {
          const open = made.open.filter(o => o.part === part)
          return open.length === 0 ? null : (
            <div key={part} className="new-bench-part">
              <h3>{partWords[part]}</h3>
              <ul>
                {open.map(o => (
                  <li key={o.what}>{o.what}</li>
                ))}
              </ul>
            </div>
          )
        })}
      </section>
      <div className="new-bench-buttons">
        <Button onClick={onBack}>Back</Button>
        <Button type="submit" kind="primary">
          Go to the rehearsal
        </Button>
      </div>
    </form>
  )
}
