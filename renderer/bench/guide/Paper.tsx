import { imageWords } from '../../../shared/model/image-words.ts'
import { usePrinting } from '../../ui/use-printing.ts'
import { Caution } from './Caution.tsx'
import { type PaperAnswer, type PaperStep, paperOf, standsAt } from './paper.ts'
import type { ActiveRun } from './run-desk.ts'
import { sayTime } from './words.ts'

const clock = (atMs: number): string => new Date(atMs).toLocaleTimeString()

/** The whole run for paper, in black on white: every step, what was answered, and room to answer the rest by hand. */
export function Paper({ run }: { readonly run: ActiveRun }) {
  if (!usePrinting()) return null
  const { runbook, beganAtMs, benchName } = run
  const { receiver, image, radio } = runbook
  return (
    <section className="gd-paper" aria-label="The whole run">
      <p>
        {receiver.type}
        {benchName === null ? '' : `, on the bench “${benchName}”`}. Radio: {radio}. Image {imageWords(image)}
        . SHA-256 {image.sha256}.
      </p>
      <p>
        Begun {new Date(beganAtMs).toLocaleString()}, printed {new Date().toLocaleString()}. {standsAt(run)}{' '}
        Session {run.id} of the logbook.
      </p>
      {paperOf(run).map(({ title, steps }) => (
        <section key={steps[0].step.id}>
          <h3>{title}</h3>
          <ol>
            {steps.map(one => (
              <OnPaper key={one.step.id} one={one} />
            ))}
          </ol>
        </section>
      ))}
    </section>
  )
}

function OnPaper({ one }: { readonly one: PaperStep }) {
  const { step, number, usual, isNow, isUnsure, answers } = one
  return (
    <li className={isNow ? 'gd-paper-step gd-paper-now' : 'gd-paper-step'}>
      <span className="gd-paper-number">{number}</span>
      <div>
        <p>
          <strong>{step.text}</strong>
        </p>
        {step.caution !== undefined && <Caution>{step.caution}</Caution>}
        <p>You should see: {step.expect}</p>
        {isUnsure && <p>To be sure: {step.sure}</p>}
        <p className="gd-soft">{usual}</p>
      </div>
      <Answers answers={answers} isNow={isNow} />
    </li>
  )
}

interface AnswersProps {
  readonly answers: readonly PaperAnswer[]
  readonly isNow: boolean
}

function Answers({ answers, isNow }: AnswersProps) {
  return (
    <div className="gd-paper-answers">
      {answers.map(({ atMs, text, tookMs }, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: answers never change places
        <p key={i}>
          <span className="gd-paper-time">{clock(atMs)}</span> {text}
          {tookMs !== undefined && ` After ${sayTime(tookMs)}.`}
        </p>
      ))}
      {isNow && <p>Here now.</p>}
      {answers.length === 0 && <p>☐ Saw it, at ____ : ____</p>}
    </div>
  )
}
