import { useLayoutEffect, useRef } from 'react'

/** What a key does, by its name in small letters; a space is `space`. */
export type KeyMap = Readonly<Record<string, (() => void) | undefined>>

const TAKES_KEYS = 'input, select, textarea, dialog, [role=dialog], [contenteditable=true]'
/** A button, link or summary under the focus takes the space key and Enter for itself. */
const TAKES_SPACE = 'button, a[href], summary'
/** A key that comes sooner after a step has changed was meant for the one before. */
export const SETTLE_MS = 350

/** Single keys anywhere in the window, unless something is being typed or chosen. */
export function useKeys(keys: KeyMap, changed: string): void {
  const latest = useRef(keys)
  const since = useRef(0)
  // Before anybody sees the step: a quick key would find nobody listening.
  useLayoutEffect(() => {
    latest.current = keys
  })
  // biome-ignore lint/correctness/useExhaustiveDependencies: the time counts from the change
  useLayoutEffect(() => {
    since.current = performance.now()
  }, [changed])
  useLayoutEffect(() => {
    const listen = (event: KeyboardEvent) => {
      const name = event.key === ' ' ? 'space' : event.key.toLowerCase()
      const act = latest.current[name]
      if (act === undefined || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented)
        return
      const target = event.target instanceof Element ? event.target : null
      if (target?.closest(TAKES_KEYS)) return
      if (name === 'space' && target?.closest(TAKES_SPACE)) return
      event.preventDefault()
      if (event.repeat || performance.now() - since.current < SETTLE_MS) return
      act()
    }
    document.addEventListener('keydown', listen)
    return () => document.removeEventListener('keydown', listen)
  }, [])
}
