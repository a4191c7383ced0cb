import { type ReactNode, useLayoutEffect, useRef } from 'react'
import { SETTLE_MS } from './keys.ts'

interface BigProps {
  /** The key that does the same, as it is shown. */
  readonly hotkey?: string
  readonly isPrimary?: boolean
  readonly isQuiet?: boolean
  readonly onClick: () => void
  readonly children: ReactNode
}

/**
 * A button for a thumb, a pen or an elbow, with the key that does the same. What it says is read before it is answered:
 * the second click of a double click was meant for the step before.
 */
export function Big({ hotkey, isPrimary, isQuiet, onClick, children }: BigProps) {
  const since = useRef(0)
  // biome-ignore lint/correctness/useExhaustiveDependencies: the time counts from other words on the button
  useLayoutEffect(() => {
    since.current = performance.now()
  }, [children])
  const click = () => {
    if (performance.now() - since.current >= SETTLE_MS) onClick()
  }
  const kind = isPrimary ? ' button-primary' : isQuiet ? ' button-quiet' : ''
  return (
    <button type="button" className={`button gd-big${kind}`} aria-keyshortcuts={hotkey} onClick={click}>
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
