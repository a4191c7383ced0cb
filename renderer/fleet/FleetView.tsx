import { useDeferredValue, useId, useMemo, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { EditDialog, type Editing } from './EditDialog.tsx'
import { copyOf, type Reference, remove } from './edit.ts'
import { InUse } from './InUse.tsx'
import { Inventory } from './Inventory.tsx'
import { findEntry, type Kind, nameOf } from './kinds.ts'
import { Legend } from './Legend.tsx'
import { Matrix } from './Matrix.tsx'
import { ReceiverPanel } from './ReceiverPanel.tsx'
import { type Filter, filterRows, rowsOf } from './rows.ts'
import { standings } from './step.ts'
import './fleet.css'

export interface FleetViewProps {
  readonly bench: Bench
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  readonly onRehearse: () => void
}

type Tab = 'matrix' | 'inventory'

const tabs: readonly (readonly [Tab, string])[] = [
  ['matrix', 'What binds with what'],
  ['inventory', 'Everything on the bench'],
]

/** What have I got, and what is out of step? */
export function FleetView(props: FleetViewProps) {
  const { bench, onChangeBench, onChooseReceiver } = props
  const [tab, setTab] = useState<Tab>('matrix')
  const [kind, setKind] = useState<Kind | 'bench'>('receivers')
  const [chosen, setChosen] = useState<Partial<Record<Kind, string>>>({})
  const [editing, setEditing] = useState<Editing>()
  const [inUse, setInUse] = useState<{ name: string; references: readonly Reference[] }>()
  const [told, setTold] = useState('')

  const choose = (of: Kind, id: string) => {
    setChosen({ ...chosen, [of]: id })
    if (of === 'receivers') onChooseReceiver(id)
  }
  const changeBench = (label: string, next: Bench) => {
    onChangeBench(label, next)
    setTold(`Done: ${label}. Ctrl+Z takes it back.`)
  }
  const del = (of: Kind, id: string) => {
    const removal = remove(bench, of, id)
    const entry = findEntry(bench, of, id)
    if (removal.ok) changeBench(removal.label, removal.bench)
    else setInUse({ name: entry ? nameOf(of, entry) : id, references: removal.references })
  }
  const copy = (of: Kind, id: string) => {
    const entry = findEntry(bench, of, id)
    if (entry) setEditing({ what: 'add', kind: of, start: copyOf(of, entry), copyOf: nameOf(of, entry) })
  }

  return (
    <div className="fleet">
      <header className="fleet-head">
        <h1>Fleet</h1>
        <nav className="fleet-tabs" aria-label="Part of the fleet">
          {tabs.map(([id, name]) => (
            <button
              key={id}
              type="button"
              aria-current={tab === id ? 'true' : undefined}
              onClick={() => setTab(id)}
            >
              {name}
            </button>
          ))}
        </nav>
        <p className="fleet-told" role="status">
          {told}
        </p>
      </header>
      {tab === 'matrix' ? (
        <MatrixPart
          {...props}
          onChangeBench={changeBench}
          onEdit={setEditing}
          onCopy={id => copy('receivers', id)}
          onDelete={id => del('receivers', id)}
        />
      ) : (
        <Inventory
          bench={bench}
          kind={kind}
          onKind={setKind}
          chosen={kind === 'receivers' ? props.receiverId : kind === 'bench' ? undefined : chosen[kind]}
          onChoose={choose}
          onEdit={setEditing}
          onDelete={del}
        />
      )}
      {editing && (
        <EditDialog
          key={JSON.stringify(editing)}
          editing={editing}
          bench={bench}
          onChangeBench={changeBench}
          onSaved={(saved, id) => {
            setEditing(undefined)
            if (saved.what !== 'bench') choose(saved.kind, id)
          }}
          onClose={() => setEditing(undefined)}
        />
      )}
      {inUse && (
        <InUse
          {...inUse}
          onOpen={next => {
            setInUse(undefined)
            setEditing(next)
          }}
          onClose={() => setInUse(undefined)}
        />
      )}
    </div>
  )
}

interface MatrixPartProps extends FleetViewProps {
  readonly onEdit: (editing: Editing) => void
  readonly onCopy: (receiverId: string) => void
  readonly onDelete: (receiverId: string) => void
}

const NO_FILTER: Filter = { text: '', outOfStepOnly: false, radioId: undefined }

function MatrixPart(props: MatrixPartProps) {
  const { bench, receiverId, onChooseReceiver, onEdit } = props
  const [filter, setFilter] = useState(NO_FILTER)
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
          {rows.length < all.length && `; ${rows.length} shown`}
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
