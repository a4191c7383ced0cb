import { useDeferredValue, useId, useMemo } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { intoList } from '../ui/Table.tsx'
import type { Editing } from './EditDialog.tsx'
import type { FleetViewProps } from './FleetView.tsx'
import { Legend } from './Legend.tsx'
import { Matrix } from './Matrix.tsx'
import { useRemembered } from './memory.ts'
import { ReceiverPanel } from './ReceiverPanel.tsx'
import { type Filter, filterRows, NO_FILTER, readFilter, rowsOf } from './rows.ts'
import { standings } from './step.ts'
import './matrix.css'

export interface MatrixPartProps extends FleetViewProps {
  readonly onEdit: (editing: Editing) => void
  readonly onCopy: (receiverId: string) => void
  readonly onDelete: (receiverId: string) => void
}

/** The matrix with its filters, and the side that explains the chosen receiver. */
export function MatrixPart(props: MatrixPartProps) {
  const { bench, receiverId, onChooseReceiver, onEdit } = props
  const [kept, setFilter] = useRemembered<Filter>(props.memory, 'matrix', readFilter, NO_FILTER)
  // A radio of another bench is none of this one.
  const filter = bench.radios.some(r => r.id === kept.radioId) ? kept : { ...kept, radioId: undefined }
  const wanted = useDeferredValue(filter)
  const standing = useMemo(() => standings(bench), [bench])
  const all = useMemo(() => rowsOf(bench, standing), [bench, standing])
  const rows = useMemo(() => filterRows(bench, all, wanted), [bench, all, wanted])
  const open = (id: string) => onEdit({ what: 'change', kind: 'receivers', id })
  const chosen = receiverId === undefined ? undefined : standing.get(receiverId)
  return (
    <div className="fleet-matrix-part">
      <section className="fleet-main" aria-label="What binds with what">
        <Filters bench={bench} filter={filter} onFilter={setFilter} />
        <p className="fleet-count" role="status">
          {countWords(all.map(row => row.standing.step))}
          {rows.length < all.length && (
            <>
              {`; ${rows.length} shown. `}
              {rows.length > 0 && (
                <Button kind="quiet" onClick={() => setFilter(NO_FILTER)}>
                  Show all
                </Button>
              )}
            </>
          )}
        </p>
        {rows.length > 0 ? (
          <Matrix
            bench={bench}
            rows={rows}
            radioId={wanted.radioId}
            chosen={receiverId}
            onChoose={onChooseReceiver}
            onOpen={open}
          />
        ) : (
          <EmptyState
            title={all.length === 0 ? 'There is no receiver on this bench' : 'No receiver is like that'}
          >
            {all.length === 0 ? (
              <p>Add one under “Everything on the bench”.</p>
            ) : (
              <Button onClick={() => setFilter(NO_FILTER)}>Show all receivers</Button>
            )}
          </EmptyState>
        )}
        <Legend />
      </section>
      {chosen && (
        <ReceiverPanel
          bench={bench}
          standing={chosen}
          onChangeBench={props.onChangeBench}
          onOpen={() => open(chosen.receiver.id)}
          onCopy={() => props.onCopy(chosen.receiver.id)}
          onDelete={() => props.onDelete(chosen.receiver.id)}
          onRehearse={props.onRehearse}
          onFindOut={props.onFindOut}
        />
      )}
    </div>
  )
}

function countWords(steps: readonly string[]): string {
  const count = (step: string) => steps.filter(other => other === step).length
  const parts = [
    `${steps.length} ${steps.length === 1 ? 'receiver' : 'receivers'}`,
    `${count('out-of-step')} out of step`,
    `${count('not-known')} not known`,
  ]
  return parts.join(', ')
}

interface FiltersProps {
  readonly bench: Bench
  readonly filter: Filter
  readonly onFilter: (filter: Filter) => void
}

function Filters({ bench, filter, onFilter }: FiltersProps) {
  const id = useId()
  return (
    <search className="fleet-filters">
      <label className="visually-hidden" htmlFor={`${id}-text`}>
        Search the fleet
      </label>
      <input
        id={`${id}-text`}
        type="search"
        className="ui-input"
        placeholder="Search model, receiver, type, module"
        value={filter.text}
        onChange={e => onFilter({ ...filter, text: e.target.value })}
        onKeyDown={intoList}
      />
      <label className="visually-hidden" htmlFor={`${id}-radio`}>
        Radio
      </label>
      <select
        id={`${id}-radio`}
        className="ui-input"
        value={filter.radioId ?? ''}
        onChange={e => onFilter({ ...filter, radioId: e.target.value || undefined })}
      >
        <option value="">Every radio</option>
        {bench.radios.map(radio => (
          <option key={radio.id} value={radio.id}>
            {radio.nickname}
          </option>
        ))}
      </select>
      <label className="ui-check">
        <input
          type="checkbox"
          checked={filter.outOfStepOnly}
          onChange={e => onFilter({ ...filter, outOfStepOnly: e.target.checked })}
        />
        Only what is not in step
      </label>
    </search>
  )
}
