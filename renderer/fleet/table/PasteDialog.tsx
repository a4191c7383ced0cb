import { useDeferredValue, useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { addUnits } from '../../../shared/sheet/add-units.ts'
import { readTable } from '../../../shared/sheet/table.ts'
import {
  fieldsOf,
  guessColumns,
  type TableKind,
  TYPE_LIST,
  type UnitField,
  unitFields,
} from '../../../shared/sheet/unit-fields.ts'
import { readUnits } from '../../../shared/sheet/unit-rows.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { CheckField } from '../../ui/Field.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { SelectField } from '../../ui/Select.tsx'
import { kinds } from '../kinds.ts'
import { Columns } from './Columns.tsx'
import { Preview } from './Preview.tsx'
import '../sheet/sheet.css'
import './table.css'

export interface PasteDialogProps {
  readonly bench: Bench
  readonly kind: TableKind
  /** A file that was dropped, or nothing yet. */
  readonly start?: { readonly name: string; readonly text: string }
  readonly onAdd: (label: string, next: Bench, ids: readonly string[]) => void
  readonly onClose: () => void
}

const EXAMPLES: Readonly<Record<TableKind, string>> = {
  receivers: 'Name\tType\tFirmware\tGeneration\tModel\nSpare one\tWren 6\t2.3.1\t3\t',
  modules: 'Name\tType\tFirmware\tBand\tRadio\nSpare module\tSkein Inner\t5.2.0\t2.4 GHz\t',
  radios: 'Name\tType\tSystem\tBattery\nClub radio\tTarn 16\t2.9.0\t7,9',
}

/** Units from a table: pasted, looked through row by row, added in one step. */
export function PasteDialog({ bench, kind, start, onAdd, onClose }: PasteDialogProps) {
  const [text, setText] = useState(start?.text ?? '')
  const [typeId, setTypeId] = useState<string>()
  const [head, setHead] = useState<boolean>()
  const [mapped, setMapped] = useState<readonly (UnitField | undefined)[]>()
  const [toggled, setToggled] = useState<ReadonlyMap<number, boolean>>(new Map())
  const shown = useDeferredValue(text)
  const table = useMemo(() => readTable(shown, start?.name ?? 'the pasted table'), [shown, start?.name])
  const guess = useMemo(
    () =>
      table.ok
        ? guessColumns(
            bench,
            kind,
            table.value.rows.map(row => row.cells),
          )
        : undefined,
    [table, bench, kind],
  )
  const hasHead = head ?? guess?.hasHead ?? false
  const fields = mapped ?? guess?.fields ?? []
  const rows = useMemo(() => {
    if (!table.ok) return []
    return readUnits(bench, hasHead ? table.value.rows.slice(1) : table.value.rows, { kind, fields, typeId })
  }, [table, bench, kind, hasHead, fields, typeId])
  const isTaken = (line: number, isTwin: boolean) => toggled.get(line) ?? !isTwin
  const taken = rows.filter(row => row.unit && isTaken(row.line, row.isTwin))
  const result = useMemo(() => addUnits(bench, kind, taken), [bench, kind, taken])
  const types = bench.catalogue[TYPE_LIST[kind]].map(t => ({ value: t.id, word: `${t.maker} ${t.name}` }))
  const { one, many } = kinds[kind]
  const change = (next: string) => {
    setText(next)
    setMapped(undefined)
    setHead(undefined)
    setToggled(new Map())
  }
  const left = rows.length - taken.length
  return (
    <Dialog
      wide
      title={`Add ${many} from a table`}
      lead="Copy the rows in your spreadsheet and paste them here; one row is one piece. The first row may hold the heads."
      onClose={onClose}
      onSubmit={() =>
        result.ok && taken.length > 0 && onAdd(result.value.label, result.value.bench, result.value.ids)
      }
      foot={
        <>
          <p className="ui-spring" role="status">
            {rows.length > 0 && `${taken.length} of ${rows.length} rows will be added`}
            {left > 0 && `, ${left} left out`}
          </p>
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" disabled={!result.ok || taken.length === 0}>
            {taken.length === 0 ? `Add ${many}` : `Add ${taken.length} ${taken.length === 1 ? one : many}`}
          </Button>
        </>
      }
    >
      <div className="sheet-stack">
        <label className="ui-field">
          <span className="ui-field-label">Table</span>
          <textarea
            className="ui-input table-text"
            rows={text === '' ? 8 : 4}
            wrap="off"
            spellCheck={false}
            placeholder={EXAMPLES[kind]}
            value={text}
            onChange={e => change(e.target.value)}
          />
        </label>
        {text !== '' && !table.ok && <ProblemList problems={table.problems} />}
        {table.ok && (
          <>
            <div className="table-options">
              <CheckField
                label="The first row holds the heads of the columns"
                value={hasHead}
                onChange={on => {
                  setHead(on)
                  setMapped(fields)
                }}
              />
              <SelectField
                label="Type of rows that say none"
                optional
                none="none"
                value={typeId}
                options={types}
                onChange={setTypeId}
              />
            </div>
            <Columns
              heads={hasHead ? table.value.rows[0].cells : undefined}
              sample={table.value.rows[hasHead ? 1 : 0]?.cells ?? []}
              fields={fields}
              options={fieldsOf[kind].map(value => ({ value, word: unitFields[value].word }))}
              onChange={(column, field) =>
                setMapped(fields.map((old, i) => (i === column ? field : old === field ? undefined : old)))
              }
            />
            <Preview
              kind={kind}
              bench={bench}
              rows={rows}
              isTaken={isTaken}
              onToggle={(line, on) => setToggled(new Map([...toggled, [line, on]]))}
            />
            {!result.ok && <ProblemList problems={result.problems} />}
          </>
        )}
      </div>
    </Dialog>
  )
}
