import { useDeferredValue, useId, useMemo } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { Button } from '../ui/Button.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { intoList, Table } from '../ui/Table.tsx'
import type { Editing } from './EditDialog.tsx'
import { EntryPanel } from './EntryPanel.tsx'
import type { Exchange } from './Exchange.tsx'
import { copyOf } from './edit.ts'
import {
  benchSelf,
  CATALOGUE_KINDS,
  type Entry,
  findEntry,
  GEAR_KINDS,
  type Kind,
  kinds,
  listOf,
  nameOf,
} from './kinds.ts'
import { ExchangeTools, SeveralTool } from './ListTools.tsx'
import { filterList, filterValues, type ListFilter, NO_LIST_FILTER, readListFilter } from './list-filter.ts'
import { type Memory, useRemembered } from './memory.ts'
import { show } from './show.ts'

export interface InventoryProps {
  readonly bench: Bench
  readonly kind: Kind | 'bench'
  readonly onKind: (kind: Kind | 'bench') => void
  readonly chosen: string | undefined
  readonly onChoose: (kind: Kind, id: string) => void
  readonly onEdit: (editing: Editing) => void
  readonly onDelete: (kind: Kind, id: string) => void
  readonly onExchange: (exchange: Exchange) => void
  readonly memory: Memory
}

const groups: readonly (readonly [string, readonly Kind[]])[] = [
  ['On the table', GEAR_KINDS],
  ['Types', CATALOGUE_KINDS],
  ['Firmware', ['images']],
]

const capital = (word: string) => word.charAt(0).toUpperCase() + word.slice(1)

/** Everything on the bench, kind by kind, to be opened, added, copied and deleted. */
export function Inventory(props: InventoryProps) {
  const { bench, kind, onKind } = props
  return (
    <div className="fleet-inventory">
      <nav className="fleet-index" aria-label="Kinds of things">
        {groups.map(([name, members]) => (
          <section key={name}>
            <h2>{name}</h2>
            <ul>
              {members.map(member => (
                <li key={member}>
                  <button
                    type="button"
                    aria-current={kind === member ? 'true' : undefined}
                    onClick={() => onKind(member)}
                  >
                    {capital(kinds[member].many)} <span>{listOf(bench, member).length}</span>
                  </button>
                </li>
              ))}
            </ul>
          </section>
        ))}
        <section>
          <h2>The table</h2>
          <ul>
            <li>
              <button
                type="button"
                aria-current={kind === 'bench' ? 'true' : undefined}
                onClick={() => onKind('bench')}
              >
                Name and wiring
              </button>
            </li>
          </ul>
        </section>
      </nav>
      {kind === 'bench' ? <BenchSelf {...props} /> : <KindList {...props} key={kind} kind={kind} />}
    </div>
  )
}

function BenchSelf({ bench, onEdit }: InventoryProps) {
  return (
    <section className="fleet-list" aria-labelledby="fleet-self">
      <header className="fleet-list-head">
        <h2 id="fleet-self">Name and wiring</h2>
        <p>What this bench is called, and how the table is set up for an update.</p>
        <Button kind="primary" onClick={() => onEdit({ what: 'bench' })}>
          Change
        </Button>
      </header>
      <dl className="fleet-facts fleet-facts-wide">
        {benchSelf.fields.map(field => (
          <div key={field.path}>
            <dt>{field.label}</dt>
            <dd>{show(field, bench, bench)}</dd>
          </div>
        ))}
      </dl>
    </section>
  )
}

/** What is missing or not known stands back, but stands there. A number is not parted from its unit. */
function Shown({ children }: { readonly children: string }) {
  if (/^(not known|none)$/.test(children)) return <span className="fleet-none">{children}</span>
  return children.length <= 9 ? <span className="fleet-short">{children}</span> : children
}

function KindList(props: InventoryProps & { readonly kind: Kind }) {
  const { bench, kind, chosen, onChoose, onEdit, onDelete, onExchange } = props
  const [filter, setFilter] = useRemembered<ListFilter>(
    props.memory,
    `list-${kind}`,
    readListFilter,
    NO_LIST_FILTER,
  )
  const wanted = useDeferredValue(filter)
  const spec = kinds[kind]
  const fields = spec.columns.flatMap(path => spec.fields.find(field => field.path === path) ?? [])
  const rows = useMemo(() => filterList(bench, kind, wanted), [bench, kind, wanted])
  const isFiltered = rows.length < listOf(bench, kind).length
  const entry = rows.some(row => row.id === chosen) ? findEntry(bench, kind, chosen) : undefined
  const open = (id: string) => onEdit({ what: 'change', kind, id })
  const addNew = () => onEdit({ what: 'add', kind, start: spec.blank(bench) })
  return (
    <>
      <section className="fleet-list" aria-labelledby={`fleet-list-${kind}`}>
        <header className="fleet-list-head">
          <h2 id={`fleet-list-${kind}`}>{capital(spec.many)}</h2>
          <p>{spec.about}</p>
          <div>
            <ExchangeTools kind={kind} entry={entry} onExchange={onExchange} />
            <Button kind="primary" onClick={addNew}>
              New {spec.one}
            </Button>
          </div>
        </header>
        <div className="fleet-list-tools">
          <ListFilters bench={bench} kind={kind} filter={filter} onFilter={setFilter} />
          <div>
            <Button disabled={!entry} onClick={() => entry && open(entry.id)}>
              Open
            </Button>
            <Button
              disabled={!entry}
              onClick={() =>
                entry &&
                onEdit({ what: 'add', kind, start: copyOf(kind, entry), copyOf: nameOf(kind, entry) })
              }
            >
              Copy
            </Button>
            <SeveralTool kind={kind} entry={entry} onExchange={onExchange} />
            <Button kind="danger" disabled={!entry} onClick={() => entry && onDelete(kind, entry.id)}>
              Delete
            </Button>
          </div>
        </div>
        <p className="fleet-count" role="status">
          {isFiltered && (
            <>
              {rows.length} of {listOf(bench, kind).length} shown.{' '}
              {rows.length > 0 && (
                <Button kind="quiet" onClick={() => setFilter(NO_LIST_FILTER)}>
                  Show all
                </Button>
              )}
            </>
          )}
        </p>
        {rows.length > 0 ? (
          <Table
            label={capital(spec.many)}
            rows={rows}
            rowKey={row => row.id}
            selected={entry?.id}
            onSelect={id => onChoose(kind, id)}
            onOpen={open}
            columns={[
              { key: 'name', head: 'Name', cell: row => nameOf(kind, row) },
              ...fields.map(field => ({
                key: field.path,
                head: field.label,
                right: field.kind === 'number',
                cell: (row: Entry) => <Shown>{show(field, row, bench)}</Shown>,
              })),
            ]}
          />
        ) : (
          <EmptyState title={isFiltered ? `No ${spec.one} is like that` : `No ${spec.many} yet`}>
            {!isFiltered ? (
              <p>
                {spec.about} Add the first with “New {spec.one}”.
              </p>
            ) : (
              <Button onClick={() => setFilter(NO_LIST_FILTER)}>Show all</Button>
            )}
          </EmptyState>
        )}
      </section>
      <EntryPanel bench={bench} kind={kind} entry={entry} onEdit={onEdit} />
    </>
  )
}

interface ListFiltersProps {
  readonly bench: Bench
  readonly kind: Kind
  readonly filter: ListFilter
  readonly onFilter: (filter: ListFilter) => void
}

/** Words, and one value of the column that sorts this kind best. Arrow down goes on into the list. */
function ListFilters({ bench, kind, filter, onFilter }: ListFiltersProps) {
  const id = useId()
  const { many } = kinds[kind]
  const { field, values } = filterValues(bench, kind)
  return (
    <search>
      <label htmlFor={`${id}-text`} className="visually-hidden">
        Search {many}
      </label>
      <input
        id={`${id}-text`}
        type="search"
        className="ui-input"
        placeholder="Search"
        value={filter.text}
        onChange={e => onFilter({ ...filter, text: e.target.value })}
        onKeyDown={intoList}
      />
      {field && values.length > 1 && (
        <select
          className="ui-input"
          aria-label={`${field.label} of the ${many}`}
          value={values.includes(filter.value) ? filter.value : ''}
          onChange={e => onFilter({ ...filter, value: e.target.value })}
        >
          <option value="">{field.label}: any</option>
          {values.map(value => (
            <option key={value} value={value}>
              {value}
            </option>
          ))}
        </select>
      )}
    </search>
  )
}
