import { useEffect, useRef, useState } from 'react'
import type { AppClient } from '../api/client.ts'
import { Button } from '../ui/Button.tsx'
import { Notice, ProblemList } from '../ui/Notice.tsx'
import { copyText } from './copy.ts'
import { BEFORE_FLIGHT, headingOf, type Summary, summaryText } from './summary.ts'
import { type Find, useFind, writtenWords } from './use-find.ts'
import { list } from './words.ts'

export interface EndedProps {
  readonly summary: Summary
  readonly find: Find
  readonly client: Pick<AppClient, 'call'>
  readonly onAnother: () => void
  readonly onCameBack: () => void
}

/** A repair helped: what it was, what led to it, and what is to be done before it flies again. */
export function Ended({ summary, find, client, onAnother, onCameBack }: EndedProps) {
  const { isWritten, problems } = useFind(client, find)
  const [copied, setCopied] = useState('')
  const title = useRef<HTMLHeadingElement>(null)
  useEffect(() => title.current?.focus(), [])
  const copy = async () => {
    const isDone = await copyText(summaryText(summary))
    setCopied(isDone ? 'Copied.' : 'It could not be copied; mark the text and copy it by hand.')
  }
  return (
    <article className="dg-ended">
      <p className="dg-soft">
        {summary.receiver}: {summary.symptom} ({summary.route.toLowerCase()})
      </p>
      <h2 ref={title} tabIndex={-1}>
        {headingOf(summary)}
      </h2>
      {summary.causes.map(cause => (
        <p key={cause.label}>
          {cause.mechanism} <strong>Repair:</strong> {cause.repair}
        </p>
      ))}
      <Notice kind="caution">{BEFORE_FLIGHT}</Notice>
      {summary.tried.length > 0 && <p>Tried before, without effect: {list(summary.tried)}.</p>}
      {summary.asked.length > 0 && (
        <>
          <h3>Asked on the way</h3>
          <ul>
            {summary.asked.map(({ question, answer, from }) => (
              <li key={question}>
                {question} <strong>{answer}</strong> <span className="dg-soft">({from})</span>
              </li>
            ))}
          </ul>
        </>
      )}
      {problems.length > 0 && <ProblemList problems={problems} />}
      <p className="dg-soft" role="status">
        {isWritten && writtenWords(find)}
      </p>
      <div className="dg-ended-act">
        <Button kind="primary" onClick={onAnother}>
          Start another diagnosis
        </Button>
        <Button onClick={() => window.print()}>Print</Button>
        <Button onClick={() => void copy()}>Copy</Button>
        <Button kind="quiet" onClick={onCameBack}>
          It came back after all
        </Button>
        <span role="status">{copied}</span>
      </div>
    </article>
  )
}
