import type { ReactNode } from 'react'
import './pieces.css'

/** Says why there is nothing here, and what would put something here. */
export function EmptyState({ title, children }: { readonly title: string; readonly children?: ReactNode }) {
  return (
    <div className="ui-empty">
      <h2>{title}</h2>
      {children}
    </div>
  )
}
