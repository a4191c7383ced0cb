import { type ReactNode, type Ref, useCallback, useState } from 'react'

interface VirtualListProps {
  readonly count: number
  readonly rowPx: number
  readonly label: string
  readonly ref?: Ref<HTMLDivElement>
  readonly children: (index: number) => ReactNode
}

/** Rows above and below the visible part, so that the keyboard finds the next one. */
const SPARE = 8

/** A long list of rows of one height, of which only those in sight are on the page. */
export function VirtualList({ count, rowPx, label, ref, children }: VirtualListProps) {
  const [range, setRange] = useState({ first: 0, last: 40 })
  const look = useCallback(
    (box: HTMLElement) => {
      const first = Math.max(0, Math.floor(box.scrollTop / rowPx) - SPARE)
      const last = Math.ceil((box.scrollTop + box.clientHeight) / rowPx) + SPARE
      setRange(before => (before.first === first && before.last === last ? before : { first, last }))
    },
    [rowPx],
  )
  const last = Math.min(count, range.last)
  const first = Math.min(range.first, last)
  return (
    <div ref={ref} className="rh-scroll" onScroll={event => look(event.currentTarget)}>
      <ol className="rh-virtual" aria-label={label} style={{ height: count * rowPx }}>
        {Array.from({ length: last - first }, (_, k) => first + k).map(i => (
          <li key={i} style={{ top: i * rowPx, height: rowPx }} aria-setsize={count} aria-posinset={i + 1}>
            {children(i)}
          </li>
        ))}
      </ol>
    </div>
  )
}
