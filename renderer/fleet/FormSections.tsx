import { useEffect, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { FieldErrors } from './check.ts'
import { FormField } from './FormField.tsx'
import { bySection } from './facts.ts'
import type { FieldSpec } from './field-spec.ts'

export interface FormSectionsProps {
  readonly fields: readonly FieldSpec[]
  readonly draft: unknown
  readonly bench: Bench
  readonly errors: FieldErrors
  readonly onChange: (path: string, value: unknown) => void
  /** A new thing: what is folded away holds what is usual, not what somebody entered. */
  readonly isNew?: boolean
}

/** The few things that matter first, section by section; what has a usual value is folded away below. */
export function FormSections(props: FormSectionsProps) {
  const { fields, errors, isNew } = props
  const folded = fields.filter(field => field.usual)
  const isWrong = folded.some(({ path }) =>
    Object.keys(errors).some(at => at === path || at.startsWith(`${path}.`)),
  )
  const [open, setOpen] = useState(false)
  useEffect(() => {
    if (isWrong) setOpen(true)
  }, [isWrong])
  return (
    <>
      <Sections {...props} fields={fields.filter(field => !field.usual)} />
      {folded.length > 0 && (
        <details
          className="fleet-more-fields"
          open={open || isWrong}
          onToggle={event => setOpen(event.currentTarget.open)}
        >
          <summary>
            {isNew ? 'More, with usual values' : 'More'}
            <span>{sayNames(folded)}</span>
          </summary>
          {isNew && (
            <p className="fleet-more-lead">
              Each is filled in with what is usual. Correct what you know; leave the rest.
            </p>
          )}
          <Sections {...props} fields={folded} />
        </details>
      )}
    </>
  )
}

function sayNames(folded: readonly FieldSpec[]): string {
  const names = [...new Set(folded.map(field => field.section?.toLowerCase() ?? ''))].filter(
    name => name !== 'what it is',
  )
  return names.join(', ')
}

function Sections({ fields, draft, bench, errors, onChange }: FormSectionsProps) {
  return bySection(fields).map(([name, members]) => (
    <section key={name} aria-label={name}>
      <h3>{name}</h3>
      <div className="fleet-fields">
        {members.map(field => (
          <FormField
            key={field.path}
            spec={field}
            base=""
            draft={draft}
            bench={bench}
            errors={errors}
            onChange={onChange}
          />
        ))}
      </div>
    </section>
  ))
}
