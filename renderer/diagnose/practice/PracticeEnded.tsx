import { useEffect, useRef } from 'react'
import type { Exercise, PracticeDone, PracticeEnd, PracticeSetup } from '../../../shared/diagnose/exercise.ts'
import { Button } from '../../ui/Button.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import { Caution } from '../Caution.tsx'
import { minuteWords } from '../words.ts'
import { PracticeTag } from './PracticeTag.tsx'
import { faultWords, headingOfEnd, sayAfter, verdict } from './results.ts'

export interface PracticeEndedProps {
  readonly setup: PracticeSetup
  readonly exercise: Exercise
  readonly end: PracticeEnd
  readonly onAnother: () => void
  readonly onAgain: () => void
  readonly onOther: () => void
}

/** What it was, how it was found, and what could have been saved. */
export function PracticeEnded({ setup, exercise, end, onAnother, onAgain, onOther }: PracticeEndedProps) {
  const title = useRef<HTMLHeadingElement>(null)
  useEffect(() => title.current?.focus(), [])
  return (
    <article className="pr-ended">
      <section className="pr-card" aria-labelledby="pr-ended-title">
        <p className="dg-kind">
          Exercise {setup.seed} <PracticeTag />{' '}
          <span>
            {faultWords[setup.faults]}
            {setup.lies ? '; looks can be wrong' : ''}
          </span>
        </p>
        <h2 id="pr-ended-title" ref={title} tabIndex={-1}>
          {headingOfEnd(end)}
        </h2>
        {end.truth.map(cause => (
          <p key={cause.id}>
            {end.truth.length > 1 && <strong>{cause.label}. </strong>}
            {cause.mechanism} <strong>Repair:</strong> {cause.repair}{' '}
            {cause.wasRepaired ? (
              <StatusMark status="good">put right</StatusMark>
            ) : (
              <StatusMark status="caution">{end.works ? 'still there, unseen' : 'not put right'}</StatusMark>
            )}
          </p>
        ))}
        <div className="pr-act">
          <Button kind="primary" onClick={onAnother}>
            Another one
          </Button>
          <Button onClick={onAgain}>Same one again</Button>
          <Button kind="quiet" onClick={onOther}>
            Other choices
          </Button>
        </div>
      </section>
      <Compared exercise={exercise} end={end} />
      <ToSave end={end} />
      <div className="pr-ways">
        <Way title="Your way" done={exercise.done} />
        <Way title="The way of the engine" done={end.engine.path} />
      </div>
    </article>
  )
}

function Compared({ exercise: { spent }, end }: { readonly exercise: Exercise; readonly end: PracticeEnd }) {
  const rows = [
    ['You', spent],
    ['The engine', end.engine],
  ] as const
  return (
    <section className="pr-card" aria-labelledby="pr-compared-title">
      <h2 id="pr-compared-title">
        {verdict(spent, end)} <PracticeTag />
      </h2>
      <table className="ui-table pr-compared">
        <thead>
          <tr>
            <th scope="col">
              <span className="visually-hidden">Who</span>
            </th>
            {['Minutes', 'Looks', 'Repairs', 'Hints'].map(word => (
              <th key={word} scope="col" className="ui-right">
                {word}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(([who, took]) => (
            <tr key={who}>
              <th scope="row">{who}</th>
              {[took.minutes, took.looks, took.repairs, took.hints].map((n, i) => (
                // biome-ignore lint/suspicious/noArrayIndexKey: the columns never change
                <td key={i} className="ui-right">
                  {Math.round(n)}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

/** Named once each, however often. */
function ToSave({ end }: { readonly end: PracticeEnd }) {
  const { needlessLooks, needlessRepairs, dangers } = end
  if (needlessLooks.length + needlessRepairs.length + dangers.length === 0) return null
  return (
    <section className="pr-card" aria-labelledby="pr-save-title">
      <h2 id="pr-save-title">
        What could have been spared <PracticeTag />
      </h2>
      <ul className="pr-save">
        {dangers.map((danger, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the list is shown once and never changes
          <li key={i}>
            Looked at what can hurt, “{danger.question}”, while a safe look was left that was worth its time:
            “{danger.safe}”<Caution>{danger.risk}</Caution>
          </li>
        ))}
        {needlessLooks.map((look, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the list is shown once and never changes
          <li key={i}>
            By what was known then, this look could not save the time that it took: “{look.question}”{' '}
            <span className="pr-minutes">{minuteWords(look.minutes)}.</span>
          </li>
        ))}
        {needlessRepairs.map((repair, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: the list is shown once and never changes
          <li key={i}>
            Repaired, although that was in order: “{repair.label}”{' '}
            <span className="pr-minutes">{minuteWords(repair.minutes)}, and a try.</span>
          </li>
        ))}
      </ul>
    </section>
  )
}

function Way({ title, done }: { readonly title: string; readonly done: readonly PracticeDone[] }) {
  return (
    <section className="pr-card" aria-label={title}>
      <h2>
        {title} <PracticeTag />
      </h2>
      {done.length === 0 ? (
        <p className="dg-soft">Nothing was looked at or repaired.</p>
      ) : (
        <ol className="pr-way">
          {done.map((one, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: the list is shown once and never changes
            <li key={i}>
              <Step done={one} />
            </li>
          ))}
        </ol>
      )}
    </section>
  )
}

function Step({ done }: { readonly done: PracticeDone }) {
  if (done.do === 'look')
    return (
      <>
        {done.question} <strong>{done.answer === 'yes' ? 'Yes' : 'No'}.</strong>{' '}
        <span className="pr-minutes">{minuteWords(done.minutes)}.</span>
      </>
    )
  if (done.do === 'repair')
    return (
      <>
        Repair: {done.label} <strong>{sayAfter(done)}</strong>{' '}
        <span className="pr-minutes">{minuteWords(done.minutes)}.</span>
      </>
    )
  return <span className="dg-soft">Hint: {done.label || 'nothing explains what was seen.'}</span>
}
