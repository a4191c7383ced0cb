import { useEffect, useId, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { CheckField, FieldError, NumberField, TextField } from '../ui/Field.tsx'
import type { Option } from '../ui/Select.tsx'
import type { FieldSpec } from './field-spec.ts'
import { listOf, nameOf } from './kinds.ts'

/** Controls of a form that hold more than one plain value. */

/** All that a reference can name. */
export const entriesOf = (bench: Bench, spec: FieldSpec): Option<string>[] =>
  spec.to === undefined
    ? []
    : listOf(bench, spec.to).map(entry => ({ value: entry.id, word: nameOf(spec.to!, entry) }))

interface PartProps {
  readonly label: string
  readonly hint?: string
  readonly error?: string
  readonly optional?: boolean
  readonly mayBeUnknown?: boolean
  readonly value: unknown
  readonly onChange: (value: unknown) => void
}

/** A number that the screen shows in a larger unit than the file keeps. */
export function ScaledNumber({ spec, value, onChange, ...base }: PartProps & { readonly spec: FieldSpec }) {
  const scale = spec.scale ?? 1
  return (
    <NumberField
      {...base}
      unit={spec.unit}
      hexadecimal={spec.hexadecimal}
      value={typeof value === 'number' ? value / scale : (value as string | undefined)}
      onChange={next =>
        onChange(typeof next === 'number' && scale !== 1 ? Math.round(next * scale * 1000) / 1000 : next)
      }
    />
  )
}

const split = (typed: string) =>
  typed
    .split(',')
    .map(part => part.trim())
    .filter(Boolean)

/** Words with commas between them. */
export function Labels({ any, value, onChange, ...base }: PartProps & { readonly any?: boolean }) {
  const isAny = any === true && value === 'any'
  const joined = Array.isArray(value) ? value.join(', ') : ''
  const [text, setText] = useState(joined)
  useEffect(() => {
    setText(now => (split(now).join(', ') === joined ? now : joined))
  }, [joined])
  return (
    <div className="fleet-labels">
      {any && (
        <CheckField
          label={`${base.label}: any`}
          value={isAny}
          onChange={checked => onChange(checked ? 'any' : [])}
        />
      )}
      {!isAny && (
        <TextField
          {...base}
          value={text}
          onChange={typed => {
            setText(typed)
            onChange(split(typed))
          }}
        />
      )}
    </div>
  )
}

/** Several of a list that may be long: the chosen ones by name, and one box to add another. */
export function References(props: PartProps & { readonly spec: FieldSpec; readonly bench: Bench }) {
  const { spec, bench, value, onChange, label, hint, error } = props
  const id = useId()
  const chosen = Array.isArray(value) ? (value as string[]) : []
  const options = entriesOf(bench, spec)
  const left = options.filter(option => !chosen.includes(option.value))
  return (
    <fieldset className="ui-field" aria-describedby={error ? `${id}-error` : undefined}>
      <legend className="ui-field-label">{label}</legend>
      {chosen.length > 0 && (
        <ul className="fleet-chosen">
          {chosen.map(item => {
            const name = options.find(option => option.value === item)?.word ?? item
            return (
              <li key={item}>
                {name}
                <Button
                  kind="quiet"
                  aria-label={`Take ${name} out`}
                  onClick={() => onChange(chosen.filter(other => other !== item))}
                >
                  Take out
                </Button>
              </li>
            )
          })}
        </ul>
      )}
      {left.length > 0 && (
        <select
          className="ui-input"
          value=""
          aria-label={`Add to ${label.toLowerCase()}`}
          aria-invalid={error ? true : undefined}
          onChange={e => onChange([...chosen, e.target.value])}
        >
          <option value="">Add…</option>
          {left.map(option => (
            <option key={option.value} value={option.value}>
              {option.word}
            </option>
          ))}
        </select>
      )}
      {error && <FieldError id={`${id}-error`}>{error}</FieldError>}
      {hint && <p className="ui-field-hint">{hint}</p>}
    </fieldset>
  )
}
