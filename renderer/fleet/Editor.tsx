import { useEffect, useRef, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { Dialog } from '../ui/Dialog.tsx'
import { Notice } from '../ui/Notice.tsx'
import { checkDraft, type FieldErrors, specAt } from './check.ts'
import type { Outcome } from './edit.ts'
import { FormSections } from './FormSections.tsx'
import type { KindSpec } from './kinds.ts'
import { getAt, setAt } from './path.ts'
import './form.css'

export interface EditorProps {
  readonly title: string
  readonly lead?: string
  readonly what: Pick<KindSpec, 'schema' | 'fields'>
  readonly start: unknown
  readonly bench: Bench
  readonly save: (draft: unknown) => Outcome
  readonly onDone: (label: string, next: Bench, id: string) => void
  readonly onClose: () => void
  readonly saveWord: string
  /** Nothing of it is on the bench yet, so what is folded away holds usual values. */
  readonly isNew?: boolean
}

/** An id left empty is made from the name on saving. */
const isIdToBeMade = (path: string, draft: unknown) => path === 'id' && getAt(draft, 'id') === ''

/** The form for one thing. A field that was touched is checked as it is left, all of them on saving. */
export function Editor(props: EditorProps) {
  const { title, lead, what, start, bench, save, onDone, onClose, saveWord, isNew } = props
  const [draft, setDraft] = useState(start)
  const [errors, setErrors] = useState<FieldErrors>({})
  const [touched, setTouched] = useState<ReadonlySet<string>>(new Set())
  const [tries, setTries] = useState(0)
  const form = useRef<HTMLDivElement>(null)

  useEffect(() => {
    if (tries > 0) form.current?.querySelector<HTMLElement>('[aria-invalid="true"]')?.focus()
  }, [tries])

  const change = (path: string, value: unknown) => {
    const next = setAt(draft, path, value)
    setDraft(next)
    setTouched(new Set([...touched, path]))
    // What was complained about is checked again at once, so that the complaint goes when it is answered.
    if (Object.keys(errors).length > 0) setErrors(checked(next, new Set(Object.keys(errors))))
  }
  const checked = (value: unknown, paths: ReadonlySet<string>): FieldErrors => {
    const result = checkDraft(what, value)
    if (result.ok) return {}
    return Object.fromEntries(
      Object.entries(result.errors).filter(([path]) => paths.has(path) && !isIdToBeMade(path, value)),
    )
  }
  const submit = () => {
    const outcome = save(draft)
    if (outcome.ok) return onDone(outcome.label, outcome.bench, outcome.id)
    setErrors(outcome.errors)
    setTries(tries + 1)
  }
  const homeless = Object.entries(errors).filter(([path]) => specAt(what.fields, path) === undefined)

  return (
    <Dialog
      wide
      title={title}
      lead={lead}
      onClose={onClose}
      onSubmit={submit}
      foot={
        <>
          <p className="ui-spring fleet-foot-words" role="status">
            {Object.keys(errors).length > 0 &&
              (Object.keys(errors).length === 1
                ? 'One field needs another look.'
                : `${Object.keys(errors).length} fields need another look.`)}
          </p>
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary">
            {saveWord}
          </Button>
        </>
      }
    >
      {/* biome-ignore lint/a11y/noStaticElementInteractions: it hears when the focus leaves one of its fields */}
      <div
        ref={form}
        className="fleet-form"
        onBlur={event => {
          // A complaint that appears between press and release would move the button away from under the pointer.
          if (!(event.relatedTarget instanceof HTMLButtonElement))
            setErrors({ ...errors, ...checked(draft, touched) })
        }}
      >
        {homeless.map(([path, message]) => (
          <Notice key={path} kind="danger">
            {message}
          </Notice>
        ))}
        <FormSections
          fields={what.fields}
          draft={draft}
          bench={bench}
          errors={errors}
          onChange={change}
          isNew={isNew}
        />
      </div>
    </Dialog>
  )
}
