import { useId } from 'react'
import { UNKNOWN } from '../../shared/model/units.ts'
import { type FieldBase, FieldError, FieldFrame } from './Field.tsx'

export interface Option<V> {
  readonly value: V
  readonly word: string
}

export interface SelectFieldProps<V extends string | number | boolean> extends FieldBase {
  readonly value: V | typeof UNKNOWN | undefined
  readonly options: readonly Option<V>[]
  /** What an empty choice is called, for optional fields. */
  readonly none?: string
  readonly onChange: (value: V | typeof UNKNOWN | undefined) => void
}

/** One of a list. "Not known" stands in the list where it is a possible answer. */
export function SelectField<V extends string | number | boolean>(props: SelectFieldProps<V>) {
  const { value, options, none = 'none', onChange, ...base } = props
  const at = options.findIndex(option => option.value === value)
  const isStray = at < 0 && value !== undefined && value !== UNKNOWN
  const chosen =
    at >= 0 ? String(at) : value === UNKNOWN && base.mayBeUnknown ? UNKNOWN : isStray ? 'stray' : ''
  return (
    <FieldFrame {...base}>
      {control => (
        <select
          className="ui-input"
          {...control}
          value={chosen}
          onChange={e => {
            const picked = e.target.value
            onChange(picked === UNKNOWN ? UNKNOWN : options[Number(picked || 'NaN')]?.value)
          }}
        >
          {(base.optional || chosen === '') && (
            <option value="" disabled={!base.optional}>
              {base.optional ? none : 'choose one'}
            </option>
          )}
          {isStray && <option value="stray">{String(value)} (no longer there)</option>}
          {options.map((option, i) => (
            <option key={String(option.value)} value={i}>
              {option.word}
            </option>
          ))}
          {base.mayBeUnknown && <option value={UNKNOWN}>not known</option>}
        </select>
      )}
    </FieldFrame>
  )
}

export interface ChoicesFieldProps<V extends string | number> extends FieldBase {
  readonly value: readonly V[] | typeof UNKNOWN | undefined
  readonly options: readonly Option<V>[]
  readonly onChange: (value: V[] | typeof UNKNOWN) => void
}

/** Any number of a short list, in the order of the list. */
export function ChoicesField<V extends string | number>(props: ChoicesFieldProps<V>) {
  const { label, hint, error, mayBeUnknown, value, options, onChange } = props
  const id = useId()
  const isUnknown = value === UNKNOWN
  const chosen = isUnknown ? [] : (value ?? [])
  const describedBy = [error && `${id}-error`, hint && `${id}-hint`].filter(Boolean).join(' ')
  return (
    <fieldset className="ui-field" aria-describedby={describedBy === '' ? undefined : describedBy}>
      <legend className="ui-field-label">{label}</legend>
      <div className="ui-choices">
        {options.map(option => (
          <label key={option.value} className="ui-check">
            <input
              type="checkbox"
              checked={chosen.includes(option.value)}
              disabled={isUnknown}
              aria-invalid={error === undefined ? undefined : true}
              onChange={e =>
                onChange(
                  options
                    .filter(o => (o === option ? e.target.checked : chosen.includes(o.value)))
                    .map(o => o.value),
                )
              }
            />
            {option.word}
          </label>
        ))}
        {mayBeUnknown && (
          <label className="ui-check ui-check-small">
            <input
              type="checkbox"
              checked={isUnknown}
              aria-label={`${label}: not known`}
              onChange={e => onChange(e.target.checked ? UNKNOWN : [])}
            />
            not known
          </label>
        )}
      </div>
      {error && <FieldError id={`${id}-error`}>{error}</FieldError>}
      {hint && (
        <p className="ui-field-hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </fieldset>
  )
}
