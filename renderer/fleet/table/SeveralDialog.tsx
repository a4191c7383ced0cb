import { useMemo, useState } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { addUnits, MOST_AT_ONCE, severalOf } from '../../../shared/sheet/add-units.ts'
import type { TableKind } from '../../../shared/sheet/unit-fields.ts'
import { Button } from '../../ui/Button.tsx'
import { Dialog } from '../../ui/Dialog.tsx'
import { CheckField, NumberField, TextField } from '../../ui/Field.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { kinds } from '../kinds.ts'
import '../sheet/sheet.css'
import './table.css'

export interface SeveralDialogProps {
  readonly bench: Bench
  readonly kind: TableKind
  readonly typeId: string
  readonly typeName: string
  /** What the units are called before their number, at first. */
  readonly stem: string
  readonly onAdd: (label: string, next: Bench, ids: readonly string[]) => void
  readonly onClose: () => void
}

const wholeFrom = (value: unknown, least: number, most: number): number | undefined =>
  typeof value === 'number' && Number.isInteger(value) && value >= least && value <= most ? value : undefined

/** Several pieces of one type, with numbered names, in one step. */
export function SeveralDialog(props: SeveralDialogProps) {
  const { bench, kind, typeId, typeName, onAdd, onClose } = props
  const [count, setCount] = useState<unknown>(3)
  const [stem, setStem] = useState(props.stem)
  const [first, setFirst] = useState<unknown>(1)
  const [fresh, setFresh] = useState(false)
  const many = wholeFrom(count, 1, MOST_AT_ONCE)
  const from = wholeFrom(first, 0, 99_999)
  const rows = useMemo(
    () =>
      many === undefined || from === undefined || stem.trim() === ''
        ? []
        : severalOf(bench, kind, typeId, many, stem, from, fresh),
    [bench, kind, typeId, many, stem, from, fresh],
  )
  const result = useMemo(() => addUnits(bench, kind, rows), [bench, kind, rows])
  const word = rows.length === 1 ? kinds[kind].one : kinds[kind].many
  return (
    <Dialog
      title={`Add several: ${typeName}`}
      lead="Each gets a name with a number. What is not known of them stays not known until you look."
      onClose={onClose}
      onSubmit={() =>
        result.ok && rows.length > 0 && onAdd(result.value.label, result.value.bench, result.value.ids)
      }
      foot={
        <>
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" disabled={!result.ok || rows.length === 0}>
            {rows.length === 0 ? `Add ${word}` : `Add ${rows.length} ${word}`}
          </Button>
        </>
      }
    >
      <div className="sheet-stack">
        <div className="table-several">
          <NumberField
            label="How many"
            value={count as number | undefined}
            error={many === undefined ? `A whole number from 1 to ${MOST_AT_ONCE}.` : undefined}
            onChange={setCount}
          />
          <NumberField
            label="First number"
            value={first as number | undefined}
            error={from === undefined ? 'A whole number.' : undefined}
            onChange={setFirst}
          />
        </div>
        <TextField
          label="Name before the number"
          value={stem}
          error={stem.trim() === '' ? 'This has to be filled in.' : undefined}
          onChange={setStem}
        />
        {kind === 'receivers' && (
          <CheckField
            label="New from the shop, never updated"
            hint="Then each speaks the generation that its type has as delivered."
            value={fresh}
            onChange={setFresh}
          />
        )}
        {rows.length > 0 && (
          <p className="table-names" role="status">
            {rows.length > 4
              ? `${rows[0].name}, ${rows[1].name} … ${rows.at(-1)?.name}`
              : rows.map(row => row.name).join(', ')}
          </p>
        )}
        {!result.ok && <ProblemList problems={result.problems} />}
      </div>
    </Dialog>
  )
}
