import type { Bench } from '../../../shared/model/bench.ts'
import type { TableKind } from '../../../shared/sheet/unit-fields.ts'
import type { TableUnit, UnitRow } from '../../../shared/sheet/unit-rows.ts'
import { StatusMark } from '../../ui/StatusMark.tsx'
import type { FieldSpec } from '../field-spec.ts'
import { kinds } from '../kinds.ts'
import { show } from '../show.ts'

export interface PreviewProps {
  readonly kind: TableKind
  readonly bench: Bench
  readonly rows: readonly UnitRow[]
  readonly isTaken: (line: number, isTwin: boolean) => boolean
  readonly onToggle: (line: number, on: boolean) => void
}

/** So many rows are drawn; what is wrong comes first, so that nothing wrong is among those that are not. */
const MOST_DRAWN = 200

const weight = (row: UnitRow) =>
  row.unit === undefined ? 0 : row.isTwin ? 1 : row.remarks.length > 0 ? 2 : 3

/** What a row becomes in one line: what it says, then what stays not known. */
function becomes(kind: TableKind, bench: Bench, row: UnitRow, unit: TableUnit): string {
  const spec = kinds[kind]
  const fields = ['typeId', ...spec.columns.filter(path => path !== 'typeId')].flatMap(
    path => spec.fields.find(field => field.path === path) ?? [],
  )
  const said = fields.map(field => ({ field, value: show(field, unit, bench) }))
  const label = (field: FieldSpec) => field.label.charAt(0).toLowerCase() + field.label.slice(1)
  const known = said
    .filter(({ value }) => value !== 'not known' && value !== 'none')
    .map(({ field, value }) => (field.path === 'typeId' ? value : `${label(field)} ${value}`))
  const open = said
    .filter(({ value }) => value === 'not known')
    .map(({ field }) => (field.path === 'region' ? 'region' : label(field)))
  const model = row.modelId && bench.models.find(m => m.id === row.modelId)?.name
  const radio = row.radioId && bench.radios.find(r => r.id === row.radioId)?.nickname
  const place = model ?? radio
  return [...known, place && `in ${place}`, open.length > 0 && `not known: ${open.join(', ')}`]
    .filter(Boolean)
    .join('; ')
}

/** Row by row: what it becomes, and what is wrong or not known in it. */
export function Preview({ kind, bench, rows, isTaken, onToggle }: PreviewProps) {
  const drawn = rows.length > MOST_DRAWN ? rows.toSorted((a, b) => weight(a) - weight(b)) : rows
  return (
    <section aria-label="Rows" className="table-rows">
      <ul>
        {drawn.slice(0, MOST_DRAWN).map(row => {
          const { unit } = row
          return (
            <li key={row.line} className={unit === undefined ? 'table-wrong' : undefined}>
              <label className="ui-check">
                <input
                  type="checkbox"
                  checked={unit !== undefined && isTaken(row.line, row.isTwin)}
                  disabled={unit === undefined}
                  aria-label={`Add ${row.name}, line ${row.line}`}
                  onChange={e => onToggle(row.line, e.target.checked)}
                />
                <strong>{row.name}</strong>
              </label>
              <Standing row={row} />
              <div>
                {unit && <p>{becomes(kind, bench, row, unit)}</p>}
                {row.isTwin && (
                  <p className="table-said">There is one of this name already. Tick it to add a second.</p>
                )}
                {[...row.wrong, ...row.remarks].map(sentence => (
                  <p key={sentence} className="table-said">
                    {sentence}
                  </p>
                ))}
              </div>
            </li>
          )
        })}
      </ul>
      {rows.length > MOST_DRAWN && (
        <p>
          {MOST_DRAWN} of {rows.length} rows are shown, those first that need a look.
        </p>
      )}
    </section>
  )
}

function Standing({ row }: { readonly row: UnitRow }) {
  if (row.unit === undefined) return <StatusMark status="danger">cannot be added</StatusMark>
  if (row.isTwin) return <StatusMark status="caution">name taken</StatusMark>
  if (row.remarks.length > 0) return <StatusMark status="unknown">with gaps</StatusMark>
  return <StatusMark status="good">fine</StatusMark>
}
