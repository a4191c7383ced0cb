import { useEffect, useRef } from 'react'

/** From the button that has done its work to the one that is wanted next. */
export function handOverFocus(): void {
  if (document.activeElement?.classList.contains('rh-primary') || document.activeElement === document.body)
    document.querySelector<HTMLElement>('.rh-play')?.focus()
}

/** Where it can be asked for again, unless somebody has gone on elsewhere. */
export function backToSetup(): void {
  if (document.activeElement === document.body) document.querySelector<HTMLElement>('.rh-primary')?.focus()
}

/** Ctrl and Enter, from anywhere but a dialog. */
export function useRehearseKey(start: () => void): void {
  const latest = useRef(start)
  useEffect(() => {
    latest.current = start
  })
  useEffect(() => {
    const listen = (event: KeyboardEvent) => {
      if (event.key !== 'Enter' || !(event.ctrlKey || event.metaKey) || event.defaultPrevented) return
      if (event.target instanceof Element && event.target.closest('dialog, [role=dialog]') !== null) return
      event.preventDefault()
      latest.current()
    }
    document.addEventListener('keydown', listen)
    return () => document.removeEventListener('keydown', listen)
  }, [])
}
