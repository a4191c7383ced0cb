import type { ReactNode } from 'react'

interface BigProps {
  /** The key that does the same, as it is shown. */
  readonly hotkey?: string
  readonly isPrimary?: boolean
  readonly isQuiet?: boolean
  readonly onClick: () => void
  readonly children: ReactNode
}

/** A button for a thumb, a pen or an elbow, with the key that does the same. */
export function Big({ hotkey, isPrimary, isQuiet, onClick, children }: BigProps) {
  const kind = isPrimary ? ' button-primary' : isQuiet ? ' button-quiet' : ''
  return (
    <button type="button" className={`button gd-big${kind}`} aria-keyshortcuts={hotkey} onClick={onClick}>
      <span>{children}</span>
      {hotkey && <Hotkey name={hotkey} />}
    </button>
  )
}

/** For the eye; the button itself says it to a screen reader. */
const Hotkey = ({ name }: { readonly name: string }) => (
  <span className="gd-hotkey" aria-hidden="true">
    {name}
  </span>
)
