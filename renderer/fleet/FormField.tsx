import { useId } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { UNKNOWN } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { ConnectorDrawing } from '../ui/ConnectorDrawing.tsx'
import type { DrawnConnector } from '../ui/connector-layout.ts'
import { CheckField, FieldError, TextField } from '../ui/Field.tsx'
import { ChoicesField, type Option, SelectField } from '../ui/Select.tsx'
import type { FieldErrors } from './check.ts'
import type { FieldSpec } from './field-spec.ts'
import { entriesOf, Labels, References, ScaledNumber } from './form-parts.tsx'
import { getAt, joinPath } from './path.ts'

export interface FormFieldProps {
  readonly spec: FieldSpec
  /** Where the entry's part that `spec.path` counts from stands in the draft. */
  readonly base: string
  readonly draft: unknown
  readonly bench: Bench
  readonly errors: FieldErrors
  readonly onChange: (path: string, value: unknown) => void
}

const YES_NO: readonly Option<boolean>[] = [
  { value: true, word: 'yes' },
  { value: false, word: 'no' },
]

/** One field as its description asks for it. */
export function FormField(props: FormFieldProps) {
  const { spec, base, draft, bench, errors, onChange } = props
  const path = joinPath(base, spec.path)
  const value = getAt(draft, path)
  const shared = {
    label: spec.label,
    hint: spec.hint,
    error: errors[path],
    optional: spec.optional,
    mayBeUnknown: spec.notKnown,
  }
  const set = (next: unknown) => onChange(path, spec.optional && next === '' ? undefined : next)
  switch (spec.kind) {
    case 'text':
      return <TextField {...shared} value={value as string | undefined} onChange={set} />
    case 'long-text':
      return <TextField {...shared} lines={3} value={value as string | undefined} onChange={set} />
    case 'number':
      return <ScaledNumber {...shared} spec={spec} value={value} onChange={set} />
    case 'yes-no':
      return spec.notKnown ? (
        <SelectField {...shared} value={value as boolean | undefined} options={YES_NO} onChange={set} />
      ) : (
        <CheckField {...shared} value={value === true} onChange={set} />
      )
    case 'choice': {
      const options = [...(spec.options ?? []), ...(spec.any ? [{ value: 'any', word: 'any' }] : [])]
      return <SelectField {...shared} value={value as string | undefined} options={options} onChange={set} />
    }
    case 'choices':
      return (
        <ChoicesField
          {...shared}
          value={value as (string | number)[] | undefined}
          options={spec.options ?? []}
          onChange={set}
        />
      )
    case 'reference':
      return (
        <>
          <SelectField
            {...shared}
            value={value as string | undefined}
            options={entriesOf(bench, spec)}
            onChange={set}
          />
          {spec.to === 'connectors' && (
            <ChosenConnector connector={bench.catalogue.connectors.find(c => c.id === value)} />
          )}
        </>
      )
    case 'references':
      return <References {...shared} spec={spec} bench={bench} value={value} onChange={set} />
    case 'labels':
      return <Labels {...shared} any={spec.any} value={value} onChange={set} />
    case 'group':
      return <Group {...props} path={path} />
    case 'rows':
      return <Rows {...props} path={path} />
  }
}

/** So that the person sees whether the chosen one is the one in their hand. */
function ChosenConnector({ connector }: { readonly connector: DrawnConnector | undefined }) {
  return connector ? <ConnectorDrawing connector={connector} size={44} /> : <span />
}

/** Nothing of it filled in: an optional group that is left out of the file. */
const isBlank = (value: unknown): boolean =>
  typeof value !== 'object' ||
  value === null ||
  Object.values(value).every(v => v === undefined || v === '' || (Array.isArray(v) && v.length === 0))

function Group(props: FormFieldProps & { readonly path: string }) {
  const { spec, path, draft, onChange, errors } = props
  const value = getAt(draft, path)
  const isUnknown = value === UNKNOWN
  const inner = (at: string, next: unknown) => {
    if (!spec.optional) return onChange(at, next)
    const key = at.slice(path.length + 1)
    const whole = { ...(typeof value === 'object' ? value : {}), [key]: next }
    onChange(path, isBlank(whole) ? undefined : whole)
  }
  return (
    <fieldset className="ui-field fleet-wide">
      <legend className="ui-field-label">
        {spec.label} {spec.optional && <span className="ui-field-optional">optional</span>}
      </legend>
      {spec.notKnown && (
        <CheckField
          label="not known"
          value={isUnknown}
          onChange={checked => onChange(path, checked ? UNKNOWN : spec.blank)}
        />
      )}
      {!isUnknown && (
        <div className="fleet-fields">
          {(spec.fields ?? []).map(field => (
            <FormField {...props} key={field.path} spec={field} base={path} onChange={inner} />
          ))}
        </div>
      )}
      {errors[path] && <FieldError id={`${path}-error`}>{errors[path]}</FieldError>}
    </fieldset>
  )
}

function Rows(props: FormFieldProps & { readonly path: string }) {
  const { spec, path, draft, onChange, errors } = props
  const id = useId()
  const value = getAt(draft, path)
  const rows: readonly unknown[] = Array.isArray(value) ? value : []
  return (
    <fieldset className="ui-field fleet-wide" aria-describedby={errors[path] ? `${id}-error` : undefined}>
      <legend className="ui-field-label">{spec.label}</legend>
      {spec.hint && <p className="ui-field-hint">{spec.hint}</p>}
      {rows.map((_, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: rows have no identity but their place
        <fieldset key={i} className="fleet-row" aria-label={`${spec.label}, ${i + 1}`}>
          {(spec.fields ?? []).map(field => (
            <FormField {...props} key={field.path} spec={field} base={joinPath(path, i)} />
          ))}
          <Button
            kind="quiet"
            aria-label={`Take out ${spec.label.toLowerCase()}, ${i + 1}`}
            onClick={() => onChange(path, rows.toSpliced(i, 1))}
          >
            Take out
          </Button>
        </fieldset>
      ))}
      {errors[path] && <FieldError id={`${id}-error`}>{errors[path]}</FieldError>}
      <div>
        <Button onClick={() => onChange(path, [...rows, spec.blank])}>Add a row</Button>
      </div>
      {spec.drawn === 'connector' && rows.length > 0 && (
        <ConnectorDrawing connector={draft as DrawnConnector} />
      )}
    </fieldset>
  )
}
