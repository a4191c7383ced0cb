import { useEffect, useRef } from 'react'

/**
 * For a button that gives its place to a question or a form: when it is back, the keyboard goes on from it, unless it
 * has gone on elsewhere.
 * @param isAway whether the question or the form is shown
 */
export function useReturnFocus<T extends HTMLElement>(isAway: boolean) {
  const back = useRef<T>(null)
  const wasAway = useRef(isAway)
  useEffect(() => {
    const isNowhere = document.activeElement === null || document.activeElement === document.body
    if (wasAway.current && !isAway && isNowhere) back.current?.focus()
    wasAway.current = isAway
  }, [isAway])
  return back
}
