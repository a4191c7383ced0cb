import { memo, useEffect, useMemo, useRef, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import { isKnown, regionWords } from '../../shared/model/units.ts'
import { Button } from '../ui/Button.tsx'
import { StatusMark, StatusShape } from '../ui/StatusMark.tsx'
import { useRowKeys } from '../ui/Table.tsx'
import type { Row } from './rows.ts'
import { type Cell, cellsOf, type RadioColumns, radioColumns, stepStatus, stepWords } from './step.ts'

export interface MatrixProps {
  readonly bench: Bench
  readonly rows: readonly Row[]
  /** Draw the modules of this radio only. */
  readonly radioId: string | undefined
  readonly chosen: string | undefined
  readonly onChoose: (receiverId: string) => void
  readonly onOpen: (receiverId: string) => void
}

/** So many rows are drawn at first, and more on request, so that a long fleet stays quick. */
const FIRST_ROWS = 80
const MORE_ROWS = 400

/** `2.4GHz` as people write it. */
export const bandWords = (band: string) => band.replace(/(\d)([A-Z])/, '$1\u00a0$2')
const said = (value: unknown) => (value === 'unknown' ? 'not known' : String(value))

/** Models with their receivers against modules by radio: what binds with what. */
export function Matrix({ bench, rows, radioId, chosen, onChoose, onOpen }: MatrixProps) {
  const [most, setMost] = useState(FIRST_ROWS)
  const columns = useMemo(() => {
    const all = radioColumns(bench)
    return radioId === undefined ? all : all.filter(column => column.radio?.id === radioId)
  }, [bench, radioId])
  const drawn = rows.slice(0, most)
  const rowProps = useRowKeys({
    keys: drawn.map(row => row.standing.receiver.id),
    selected: chosen,
    onSelect: onChoose,
    onOpen,
  })
  const frame = useRef<HTMLDivElement>(null)
  // Whoever comes from another view looks for the receiver that the side speaks of.
  useEffect(() => {
    // In braces: browsers may hand back a promise from it, which React would take for what cleans up.
    frame.current?.querySelector('[aria-selected=true]')?.scrollIntoView({ block: 'nearest' })
  }, [])
  return (
    <div className="fleet-matrix-frame ui-table-frame" ref={frame}>
      {/* biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: its rows take the keyboard, so it is a grid */}
      <table className="fleet-matrix" role="grid" aria-label="What binds with what">
        <MatrixHead columns={columns} />
        <tbody>
          {drawn.map(row => {
            const { receiver } = row.standing
            return (
              <tr
                key={receiver.id}
                {...rowProps(receiver.id)}
                className={row.continues ? 'fleet-continues' : undefined}
              >
                <RowHead row={row} />
                <Facts row={row} />
                <td className="fleet-step">
                  <StatusMark status={stepStatus[row.standing.step]}>
                    {stepWords[row.standing.step]}
                  </StatusMark>
                </td>
                <Cells bench={bench} row={row} columns={columns} />
              </tr>
            )
          })}
        </tbody>
      </table>
      {drawn.length < rows.length && (
        <p className="fleet-more">
          {drawn.length} of {rows.length} receivers are drawn.{' '}
          <Button onClick={() => setMost(most + MORE_ROWS)}>Draw more</Button>
        </p>
      )}
    </div>
  )
}

function MatrixHead({ columns }: { readonly columns: readonly RadioColumns[] }) {
  return (
    <thead>
      <tr>
        <th scope="col" rowSpan={2} className="fleet-name">
          Model and receiver
        </th>
        <th scope="col" rowSpan={2} className="fleet-fact">
          Type and firmware
        </th>
        <th scope="col" rowSpan={2} className="fleet-fact">
          Link
        </th>
        <th scope="col" rowSpan={2}>
          Status
        </th>
        {columns.map(({ radio, modules }) => (
          <th
            key={radio?.id ?? 'loose'}
            scope="colgroup"
            colSpan={modules.length}
            className="fleet-radio fleet-first"
          >
            {radio?.nickname ?? 'In no radio'}
          </th>
        ))}
      </tr>
      <tr>
        {columns.flatMap(({ modules }) =>
          modules.map((module, i) => (
            <th key={module.id} scope="col" className={i === 0 ? 'fleet-module fleet-first' : 'fleet-module'}>
              {module.nickname}
              <small>
                {module.on
                  ? `${isKnown(module.generation) ? `gen. ${module.generation}` : 'gen. not known'}, ${bandWords(module.band)}`
                  : 'switched off'}
              </small>
            </th>
          )),
        )}
      </tr>
    </thead>
  )
}

function RowHead({ row }: { readonly row: Row }) {
  const { receiver } = row.standing
  return (
    <th scope="row" className="fleet-name">
      {row.continues ? (
        <span className="visually-hidden">{row.model?.name}, </span>
      ) : (
        <span className={row.model ? 'fleet-model' : 'fleet-model fleet-none'}>
          {row.model?.name ?? 'In no model'}
        </span>
      )}
      <span className="fleet-receiver">{receiver.nickname}</span>
      <span className="fleet-brief" aria-hidden="true">
        {typeWord(row)}, {said(receiver.firmware)}, gen. {said(receiver.generation)}
      </span>
    </th>
  )
}

/** A type that nobody knows is another thing than one that the catalogue has lost. */
const typeWord = ({ type, standing }: Row): string =>
  type?.name ?? (isKnown(standing.receiver.typeId) ? 'type missing' : 'type not known')

const unknownClass = (...values: readonly unknown[]) =>
  values.includes('unknown') ? 'fleet-second fleet-none' : 'fleet-second'

function Facts({ row }: { readonly row: Row }) {
  const { receiver } = row.standing
  const bands = row.type?.bands.map(bandWords).join(', ') ?? 'band not known'
  return (
    <>
      <td className="fleet-fact">
        {typeWord(row)}
        <span className={unknownClass(receiver.firmware)}>{said(receiver.firmware)}</span>
      </td>
      <td className="fleet-fact fleet-link">
        gen. {said(receiver.generation)}, {bands}
        <span className={unknownClass(receiver.region)}>{regionWords[receiver.region]}</span>
      </td>
    </>
  )
}

interface CellsProps {
  readonly bench: Bench
  readonly row: Row
  readonly columns: readonly RadioColumns[]
}

/** Kept while only the choice of a row changes: there may be thousands of them. */
const Cells = memo(function Cells({ bench, row, columns }: CellsProps) {
  const { receiver } = row.standing
  const shown = useMemo(
    () => columns.flatMap(({ modules }) => modules.map((module, i) => ({ module, first: i === 0 }))),
    [columns],
  )
  const cells = useMemo(
    () =>
      cellsOf(
        bench,
        receiver,
        shown.map(column => column.module.id),
      ),
    [bench, receiver, shown],
  )
  return shown.map(({ module, first }, i) => (
    <td key={module.id} className={first ? 'fleet-cell fleet-first' : 'fleet-cell'} title={cells[i].because}>
      <CellMark cell={cells[i]} />
    </td>
  ))
})

const boundWords = {
  'in-step': 'bound',
  'out-of-step': 'out of step',
  'not-known': 'not known',
} as const
export const looseWords = {
  'in-step': 'would bind',
  'out-of-step': 'would not bind',
  'not-known': 'not known',
} as const

/** A bound pair is said in shape and word; what else would bind is a small ring, what would not an empty cell. */
export function CellMark({ cell }: { readonly cell: Cell }) {
  if (cell.bound)
    return (
      <span className={`fleet-mark ui-status ui-status-${stepStatus[cell.step]}`}>
        <StatusShape status={stepStatus[cell.step]} />
        <span>
          {cell.step !== 'in-step' && <span className="visually-hidden">bound, </span>}
          {boundWords[cell.step]}
        </span>
      </span>
    )
  return (
    <span className={`fleet-mark fleet-loose fleet-loose-${cell.step}`}>
      {cell.step === 'not-known' ? (
        <span aria-hidden="true">?</span>
      ) : (
        <svg viewBox="0 0 12 12" aria-hidden="true" focusable="false">
          {cell.step === 'in-step' ? (
            <circle cx="6" cy="6" r="3" fill="none" stroke="currentColor" strokeWidth="1.4" />
          ) : (
            <path d="M4 6H8" stroke="currentColor" strokeWidth="1.2" />
          )}
        </svg>
      )}
      <span className="visually-hidden">{looseWords[cell.step]}</span>
    </span>
  )
}
