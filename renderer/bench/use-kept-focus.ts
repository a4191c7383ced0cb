import { type RefObject, useEffect, useRef } from 'react'

/** The step that is open, the lanes, the way to write: the first of them that is there. */
const NEAREST = ['.pg-step-open h3 button', '.pg-lanes-head h2', '.bn-ways button[aria-current="true"]']

/**
 * Where the button that was pressed is gone with what it has closed, the keyboard would start again at the top of the
 * window. @returns what goes onto the part of the window that it is about
 */
export function useKeptFocus(): RefObject<HTMLDivElement | null> {
  const box = useRef<HTMLDivElement>(null)
  const last = useRef<Element | null>(null)
  // After each change: what has gone is seen by nothing else.
  useEffect(() => {
    const isGone = last.current !== null && !last.current.isConnected
    if (isGone && document.activeElement === document.body)
      for (const each of NEAREST) {
        const part = box.current?.querySelector<HTMLElement>(each)
        part?.focus()
        if (part) break
      }
    if (isGone) last.current = null
  })
  useEffect(() => {
    const { current } = box
    if (current === null) return
    const note = (event: FocusEvent) => {
      last.current = event.target instanceof Element ? event.target : null
    }
    current.addEventListener('focusin', note)
    return () => current.removeEventListener('focusin', note)
  })
  return box
}
