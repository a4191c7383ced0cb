import { useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { EditDialog, type Editing } from './EditDialog.tsx'
import { type Exchange, ExchangeDialog, useFleetDrop } from './Exchange.tsx'
import { copyOf, type Reference, remove } from './edit.ts'
import { InUse } from './InUse.tsx'
import { Inventory } from './Inventory.tsx'
import { findEntry, isKind, type Kind, nameOf } from './kinds.ts'
import { MatrixPart } from './MatrixPart.tsx'
import { type Memory, useRemembered } from './memory.ts'
import './fleet.css'

export interface FleetViewProps {
  readonly bench: Bench
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  readonly onRehearse: () => void
  /** To the questions about a receiver whose type is not known. */
  readonly onFindOut: () => void
  /** Where the view keeps how it was left. */
  readonly memory: Memory
}

type Tab = 'matrix' | 'inventory'

const tabs: readonly (readonly [Tab, string])[] = [
  ['matrix', 'What binds with what'],
  ['inventory', 'Everything on the bench'],
]

const readTab = (kept: string) => tabs.find(([id]) => id === kept)?.[0]
const readKind = (kept: string) => (kept === 'bench' || isKind(kept) ? kept : undefined)

/** What have I got, and what is out of step? */
export function FleetView(props: FleetViewProps) {
  const { bench, onChangeBench, onChooseReceiver, memory } = props
  const [tab, setTab] = useRemembered<Tab>(memory, 'part', readTab, 'matrix')
  const [kind, setKind] = useRemembered<Kind | 'bench'>(memory, 'kind', readKind, 'receivers')
  const [chosen, setChosen] = useState<Partial<Record<Kind, string>>>({})
  const [editing, setEditing] = useState<Editing>()
  const [inUse, setInUse] = useState<{ name: string; references: readonly Reference[] }>()
  const [told, setTold] = useState<{
    readonly label: string
    readonly made: Bench
    readonly plain?: boolean
  }>()
  const [exchange, setExchange] = useState<Exchange>()
  useFleetDrop(kind, setExchange)

  const choose = (of: Kind, id: string) => {
    setChosen({ ...chosen, [of]: id })
    if (of === 'receivers') onChooseReceiver(id)
  }
  const changeBench = (label: string, next: Bench) => {
    onChangeBench(label, next)
    setTold({ label, made: next })
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
          {/* Once it is taken back it is no longer so. */}
          {told?.made === bench && (told.plain ? told.label : `Done: ${told.label}. Ctrl+Z takes it back.`)}
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
          onExchange={setExchange}
          memory={memory}
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
      {exchange && (
        <ExchangeDialog
          exchange={exchange}
          bench={bench}
          memory={memory}
          onExchange={setExchange}
          onChangeBench={changeBench}
          onAdded={(of, id) => {
            setTab('inventory')
            setKind(of)
            choose(of, id)
          }}
          onTold={label => setTold({ label, made: bench, plain: true })}
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
