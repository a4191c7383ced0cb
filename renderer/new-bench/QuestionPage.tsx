import { type ReactNode, useEffect, useId, useRef, useState } from 'react'
import { Button } from '../ui/Button.tsx'
import { FieldError, TextField } from '../ui/Field.tsx'
import { Notice } from '../ui/Notice.tsx'
import { type Answers, doNotKnow, isNotKnown, isSettled, mistakes } from './answers.ts'
import { ChoiceList } from './ChoiceList.tsx'
import { ImageQuestion } from './ImageQuestion.tsx'
import type { Question } from './questions.ts'

export interface QuestionPageProps {
  readonly question: Question
  /** 1-based, and how many there are. */
  readonly number: number
  readonly count: number
  readonly answers: Answers
  readonly onAnswer: (change: Partial<Answers>) => void
  readonly onNext: () => void
  readonly onBack: () => void
}

/** One question, its answers, and "I don't know" always in the same place. */
export function QuestionPage(props: QuestionPageProps) {
  const { question, number, count, answers, onAnswer, onNext, onBack } = props
  const form = useRef<HTMLFormElement>(null)
  const titleId = useId()
  const [tried, setTried] = useState(false)
  const wrong = tried ? mistakes(answers, question.id) : {}
  const notKnown = isNotKnown(answers, question.id)
  const caution = question.caution?.(answers)

  useEffect(() => focusFirst(form.current), [])
  const next = () => {
    if (isSettled(answers, question.id)) return onNext()
    setTried(true)
    focusFirst(form.current)
  }
  return (
    <form
      ref={form}
      className="new-bench-page"
      aria-labelledby={titleId}
      noValidate
      onSubmit={event => {
        event.preventDefault()
        next()
      }}
    >
      <p className="new-bench-soft">
        Question {number} of {count}
      </p>
      <h1 id={titleId}>{question.title}</h1>
      <p className="new-bench-help" id={`${titleId}-help`}>
        {question.help}
      </p>
      <Ask {...props} wrong={wrong} titleId={titleId} />
      {caution && <Notice kind="caution">{caution}</Notice>}
      {notKnown && (
        <p className="new-bench-soft" role="status">
          {question.doNotKnow === undefined
            ? 'You said that you don’t know. You can still answer.'
            : 'You said that you have none yet. You can still choose one.'}
        </p>
      )}
      <div className="new-bench-buttons">
        <Button onClick={onBack}>{number === 1 ? 'Cancel' : 'Back'}</Button>
        <Button
          aria-pressed={notKnown}
          onClick={() => {
            onAnswer(doNotKnow(answers, question.id))
            onNext()
          }}
        >
          {question.doNotKnow ?? 'I don’t know'}
        </Button>
        <Button type="submit" kind="primary">
          Next
        </Button>
      </div>
    </form>
  )
}

/** To the answer that stands, or the first field, so that typing goes on at once. */
function focusFirst(form: HTMLFormElement | null): void {
  // The frame moves the focus to the view in this very animation frame; ours has to come after it.
  requestAnimationFrame(() => {
    const field = form?.querySelector<HTMLElement>(
      '[aria-invalid="true"]:is(input), input:checked, input:not([tabindex="-1"]), button',
    )
    field?.focus()
  })
}

interface AskProps extends QuestionPageProps {
  readonly wrong: ReturnType<typeof mistakes>
  readonly titleId: string
}

function Ask(props: AskProps): ReactNode {
  const { question, answers, onAnswer, wrong, titleId } = props
  const { ask } = question
  const text = (
    field: TextAnswer,
    label: string,
    rest: { hint?: string; unit?: string } = {},
    // Whoever fills one of two fields no longer says of the other that it is not known.
    along: Partial<Answers> = {},
  ) => (
    <TextField
      label={label}
      value={answers[field] ?? ''}
      error={wrong[field]}
      {...rest}
      onChange={value => onAnswer({ ...along, [field]: value })}
    />
  )
  switch (ask.kind) {
    case 'text':
      return text(ask.field, ask.label, { hint: ask.hint })
    case 'receiver':
      return (
        <>
          {text('receiverMaker', 'Maker', {}, { receiverName: answers.receiverName ?? '' })}
          {text('receiverName', 'Name of the type', {}, { receiverMaker: answers.receiverMaker ?? '' })}
        </>
      )
    case 'image':
      return (
        <div className="new-bench-ask">
          <ImageQuestion answer={answers.image} onAnswer={image => onAnswer({ image })} />
          <Complaint id={`${titleId}-wrong`} text={wrong.image} />
        </div>
      )
    case 'choice':
    case 'feed': {
      const field = ask.kind === 'feed' ? 'feed' : ask.field
      return (
        <>
          <div className="new-bench-ask">
            <ChoiceList
              field={field}
              choices={ask.choices}
              inRow={ask.kind === 'choice' && ask.inRow}
              answer={answers[field]}
              labelledBy={titleId}
              describedBy={`${titleId}-help ${titleId}-wrong`}
              invalid={wrong[field] !== undefined}
              onChoose={value => onAnswer({ [field]: value })}
            />
            <Complaint id={`${titleId}-wrong`} text={wrong[field]} />
          </div>
          {ask.kind === 'feed' && (
            <>
              {answers.feed === 'own-supply' && (
                <div className="new-bench-own-volts">
                  {text('feedVolts', 'Its voltage', { unit: 'V', hint: 'Leave it empty if you don’t know.' })}
                </div>
              )}
              <fieldset className="new-bench-volts">
                <legend>
                  Does the receiver’s label say which voltage it takes? Leave empty what it does not say.
                </legend>
                {text('labelLeastVolts', 'From', { unit: 'V' })}
                {text('labelMostVolts', 'To', { unit: 'V' })}
              </fieldset>
            </>
          )}
        </>
      )
    }
  }
}

type TextAnswer =
  | 'radioName'
  | 'moduleFirmware'
  | 'receiverFirmware'
  | 'receiverMaker'
  | 'receiverName'
  | 'feedVolts'
  | 'labelLeastVolts'
  | 'labelMostVolts'

function Complaint({ id, text }: { readonly id: string; readonly text: string | undefined }) {
  return <div role="alert">{text && <FieldError id={id}>{text}</FieldError>}</div>
}
