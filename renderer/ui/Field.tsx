import { type ReactNode, useEffect, useId, useState } from 'react'
import { type Known, UNKNOWN } from '../../shared/model/units.ts'
import { StatusShape } from './StatusMark.tsx'
import './pieces.css'

/** What every kind of field has in common. */
export interface FieldBase {
  readonly label: string
  readonly hint?: ReactNode
  /** One sentence that says what is wrong and what would be right. */
  readonly error?: string
  readonly optional?: boolean
  /** The value may be "not known": offers that as an answer of its own. */
  readonly mayBeUnknown?: boolean
}

/** What the control inside a field frame must carry. */
export interface ControlProps {
  readonly id: string
  readonly 'aria-describedby': string | undefined
  readonly 'aria-invalid': true | undefined
}

export interface FieldFrameProps extends FieldBase {
  readonly unit?: string
  readonly unknown?: { readonly checked: boolean; readonly onChange: (checked: boolean) => void }
  readonly children: (control: ControlProps) => ReactNode
}

export function FieldError({ id, children }: { readonly id: string; readonly children: string }) {
  return (
    <p className="ui-field-error" id={id}>
      <span className="ui-status">
        <StatusShape status="danger" />
      </span>
      {children}
    </p>
  )
}

/** Label, control with its unit, error and hint, tied together for screen readers. */
export function FieldFrame(props: FieldFrameProps) {
  const { label, hint, error, unit, optional, unknown, children } = props
  const id = useId()
  // A complaint says what would be right, so it takes the place of the hint and nothing below it moves.
  const shownHint = error === undefined ? hint : undefined
  const describedBy = [error && `${id}-error`, unit && `${id}-unit`, shownHint && `${id}-hint`].filter(
    Boolean,
  )
  return (
    <div className="ui-field">
      <div className="ui-field-head">
        <label className="ui-field-label" htmlFor={id}>
          {label} {optional && <span className="ui-field-optional">optional</span>}
        </label>
        {unknown && (
          <label className="ui-check ui-check-small">
            <input
              type="checkbox"
              checked={unknown.checked}
              aria-label={`${label}: not known`}
              onChange={e => unknown.onChange(e.target.checked)}
            />
            not known
          </label>
        )}
      </div>
      <div className="ui-field-line">
        {children({
          id,
          'aria-describedby': describedBy.length > 0 ? describedBy.join(' ') : undefined,
          'aria-invalid': error === undefined ? undefined : true,
        })}
        {unit && (
          <span className="ui-field-unit" id={`${id}-unit`}>
            {unit}
          </span>
        )}
      </div>
      {error && <FieldError id={`${id}-error`}>{error}</FieldError>}
      {shownHint && (
        <p className="ui-field-hint" id={`${id}-hint`}>
          {shownHint}
        </p>
      )}
    </div>
  )
}

export interface TextFieldProps extends FieldBase {
  readonly value: string | undefined
  readonly onChange: (value: string) => void
  readonly onBlur?: () => void
  readonly unit?: string
  /** More than one line of text. */
  readonly lines?: number
  readonly placeholder?: string
}

/** Text, or with `mayBeUnknown` a `Known<string>`. */
export function TextField({ value, onChange, onBlur, lines, placeholder, ...base }: TextFieldProps) {
  const isUnknown = base.mayBeUnknown === true && value === UNKNOWN
  const shared = {
    className: 'ui-input',
    value: isUnknown ? '' : (value ?? ''),
    disabled: isUnknown,
    onBlur,
    placeholder: isUnknown ? 'not known' : placeholder,
  }
  return (
    <FieldFrame
      {...base}
      unknown={
        base.mayBeUnknown
          ? { checked: isUnknown, onChange: checked => onChange(checked ? UNKNOWN : '') }
          : undefined
      }
    >
      {control =>
        lines === undefined ? (
          <input type="text" {...shared} {...control} onChange={e => onChange(e.target.value)} />
        ) : (
          <textarea rows={lines} {...shared} {...control} onChange={e => onChange(e.target.value)} />
        )
      }
    </FieldFrame>
  )
}

export interface NumberFieldProps extends FieldBase {
  readonly value: Known<number> | string | undefined
  /** Text that is not a number comes through as it was typed, so that it can be complained about. */
  readonly onChange: (value: Known<number> | string | undefined) => void
  readonly onBlur?: () => void
  readonly unit?: string
  /** Addresses are read and written in hexadecimal, as data sheets do. */
  readonly hexadecimal?: boolean
}

/** What somebody typed as a number: also with a decimal comma, or as 0x… */
export function readNumber(text: string): number | string | undefined {
  const trimmed = text.trim()
  if (trimmed === '') return undefined
  const number = Number(/^-?\d+,\d+$/.test(trimmed) ? trimmed.replace(',', '.') : trimmed)
  return Number.isFinite(number) ? number : trimmed
}

export const writeNumber = (value: number | string | undefined, hexadecimal = false): string =>
  typeof value === 'number' && hexadecimal ? `0x${value.toString(16).toUpperCase()}` : String(value ?? '')

export function NumberField({ value, onChange, onBlur, hexadecimal, ...base }: NumberFieldProps) {
  const isUnknown = base.mayBeUnknown === true && value === UNKNOWN
  const shown = isUnknown ? '' : writeNumber(value, hexadecimal)
  const [text, setText] = useState(shown)
  useEffect(() => {
    setText(now => (readNumber(now) === readNumber(shown) ? now : shown))
  }, [shown])
  return (
    <FieldFrame
      {...base}
      unknown={
        base.mayBeUnknown
          ? { checked: isUnknown, onChange: checked => onChange(checked ? UNKNOWN : undefined) }
          : undefined
      }
    >
      {control => (
        <input
          type="text"
          inputMode={hexadecimal ? 'text' : 'decimal'}
          className="ui-input ui-input-number"
          {...control}
          value={isUnknown ? '' : text}
          disabled={isUnknown}
          placeholder={isUnknown ? 'not known' : undefined}
          onBlur={onBlur}
          onChange={e => {
            setText(e.target.value)
            onChange(readNumber(e.target.value))
          }}
        />
      )}
    </FieldFrame>
  )
}

export interface CheckFieldProps extends Omit<FieldBase, 'mayBeUnknown' | 'optional'> {
  readonly value: boolean
  readonly onChange: (value: boolean) => void
}

export function CheckField({ label, hint, error, value, onChange }: CheckFieldProps) {
  const id = useId()
  const describedBy = [error && `${id}-error`, hint && `${id}-hint`].filter(Boolean).join(' ')
  return (
    <div className="ui-field">
      <label className="ui-check">
        <input
          type="checkbox"
          checked={value}
          aria-describedby={describedBy === '' ? undefined : describedBy}
          aria-invalid={error === undefined ? undefined : true}
          onChange={e => onChange(e.target.checked)}
        />
        {label}
      </label>
      {error && <FieldError id={`${id}-error`}>{error}</FieldError>}
      {hint && (
        <p className="ui-field-hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </div>
  )
}
