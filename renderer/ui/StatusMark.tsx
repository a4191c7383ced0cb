import './pieces.css'

export type StatusRole = 'good' | 'caution' | 'danger' | 'unknown'

/** One shape a role, told apart without colour: disc, square on edge, triangle, open ring. */
const shapes: Readonly<Record<StatusRole, React.ReactElement>> = {
  good: <circle cx="6" cy="6" r="4.5" fill="currentColor" />,
  caution: <path d="M6 0.8 11.2 6 6 11.2 0.8 6Z" fill="currentColor" />,
  danger: <path d="M6 0.6 11.8 11H0.2Z" fill="currentColor" />,
  unknown: (
    <circle
      cx="6"
      cy="6"
      r="4.5"
      fill="none"
      stroke="currentColor"
      strokeWidth="1.6"
      strokeDasharray="2.4 1.6"
    />
  ),
}

/** The shape for inside of a drawing, 12 units wide and high. */
export const StatusGlyph = ({ status }: { readonly status: StatusRole }) => shapes[status]

/** The shape alone, for where a word stands beside it. Hidden from screen readers. */
export function StatusShape({ status }: { readonly status: StatusRole }) {
  return (
    <svg viewBox="0 0 12 12" aria-hidden="true" focusable="false">
      {shapes[status]}
    </svg>
  )
}

/** A status said by shape, word and colour at once. */
export function StatusMark({ status, children }: { readonly status: StatusRole; readonly children: string }) {
  return (
    <span className={`ui-status ui-status-${status}`}>
      <StatusShape status={status} />
      {children}
    </span>
  )
}
