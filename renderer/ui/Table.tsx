import { type KeyboardEvent, type ReactNode, useEffect, useRef } from 'react'
import './pieces.css'

export interface Column<R> {
  readonly key: string
  readonly head: string
  readonly cell: (row: R) => ReactNode
  readonly right?: boolean
}

export interface RowKeys {
  readonly keys: readonly string[]
  readonly selected: string | undefined
  readonly onSelect: (key: string) => void
  readonly onOpen?: (key: string) => void
}

const steps: Readonly<Record<string, (at: number, last: number) => number>> = {
  ArrowDown: (at, last) => Math.min(at + 1, last),
  ArrowUp: at => Math.max(at - 1, 0),
  PageDown: (at, last) => Math.min(at + 10, last),
  PageUp: at => Math.max(at - 10, 0),
  Home: () => 0,
  End: (_, last) => last,
}

/**
 * One row can be reached by Tab, the arrow keys go from row to row and select, Enter opens. Spread the result of the
 * returned function on each row. Keys that come from a button inside a row are left to that button.
 */
export function useRowKeys({ keys, selected, onSelect, onOpen }: RowKeys) {
  const rows = useRef(new Map<string, HTMLTableRowElement>())
  const reachable = selected !== undefined && keys.includes(selected) ? selected : keys[0]
  return (key: string) => ({
    ref: (row: HTMLTableRowElement | null) => {
      if (row) rows.current.set(key, row)
      else rows.current.delete(key)
    },
    tabIndex: key === reachable ? 0 : -1,
    'aria-selected': key === selected,
    onClick: () => onSelect(key),
    onDoubleClick: () => onOpen?.(key),
    onKeyDown: (event: KeyboardEvent<HTMLTableRowElement>) => {
      if (event.target !== event.currentTarget) return
      if (event.key === 'Enter' || event.key === ' ') {
        event.preventDefault()
        onSelect(key)
        if (event.key === 'Enter') onOpen?.(key)
        return
      }
      const step = steps[event.key]
      if (step === undefined || event.ctrlKey || event.metaKey || event.altKey) return
      event.preventDefault()
      const next = keys[step(keys.indexOf(key), keys.length - 1)]
      onSelect(next)
      rows.current.get(next)?.focus()
    },
  })
}

/** For a search field above a table: arrow down goes to the row that Tab would reach. */
export function intoList(event: KeyboardEvent<HTMLInputElement>): void {
  if (event.key !== 'ArrowDown') return
  const part = event.currentTarget.closest('section')
  const row = part?.querySelector<HTMLElement>('tbody tr[tabindex="0"]')
  if (!row) return
  event.preventDefault()
  row.focus()
}

export interface TableProps<R> {
  readonly label: string
  readonly columns: readonly Column<R>[]
  readonly rows: readonly R[]
  readonly rowKey: (row: R) => string
  readonly selected?: string
  readonly onSelect: (key: string) => void
  readonly onOpen?: (key: string) => void
}

/** A table whose head stays in sight and whose rows are walked with the arrow keys. The first column names the row. */
export function Table<R>({ label, columns, rows, rowKey, selected, onSelect, onOpen }: TableProps<R>) {
  const rowProps = useRowKeys({ keys: rows.map(rowKey), selected, onSelect, onOpen })
  const frame = useRef<HTMLDivElement>(null)
  // What was chosen elsewhere, or has just been added, may be far down.
  useEffect(() => {
    if (selected !== undefined)
      frame.current?.querySelector('tr[aria-selected="true"]')?.scrollIntoView({ block: 'nearest' })
  }, [selected])
  return (
    <div className="ui-table-frame" ref={frame}>
      {/* biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: its rows take the keyboard, so it is a grid */}
      <table className="ui-table" role="grid" aria-label={label}>
        <thead>
          <tr>
            {columns.map(column => (
              <th key={column.key} scope="col" className={column.right ? 'ui-right' : undefined}>
                {column.head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(row => (
            <tr key={rowKey(row)} {...rowProps(rowKey(row))}>
              {columns.map((column, i) => {
                const className = column.right ? 'ui-right' : undefined
                return i === 0 ? (
                  <th key={column.key} scope="row" className={className}>
                    {column.cell(row)}
                  </th>
                ) : (
                  <td key={column.key} className={className}>
                    {column.cell(row)}
                  </td>
                )
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}
