import type { UnitField } from '../../../shared/sheet/unit-fields.ts'
import type { Option } from '../../ui/Select.tsx'

export interface ColumnsProps {
  readonly heads: readonly string[] | undefined
  /** The first row of things, so that one sees what is meant. */
  readonly sample: readonly string[]
  readonly fields: readonly (UnitField | undefined)[]
  readonly options: readonly Option<UnitField>[]
  readonly onChange: (column: number, field: UnitField | undefined) => void
}

/** What each column of the table is, as it was guessed or chosen by hand. */
export function Columns({ heads, sample, fields, options, onChange }: ColumnsProps) {
  return (
    <fieldset className="table-columns">
      <legend>What each column is</legend>
      {fields.map((field, i) => {
        const head = heads?.[i]
        const name = head ? `“${head}”` : `Column ${i + 1}`
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: columns have no identity but their place
          <label key={i} className={field === undefined ? 'table-column table-column-left' : 'table-column'}>
            <span>{name}</span>
            <select
              className="ui-input"
              value={field ?? ''}
              aria-label={`${name} is`}
              onChange={e => onChange(i, options.find(o => o.value === e.target.value)?.value)}
            >
              <option value="">left out</option>
              {options.map(option => (
                <option key={option.value} value={option.value}>
                  {option.word}
                </option>
              ))}
            </select>
            <small>{sample[i] || 'empty'}</small>
          </label>
        )
      })}
    </fieldset>
  )
}
