import { useState } from 'react'

/** The part of Storage in which the view keeps how it was left. */
export interface Memory {
  getItem(key: string): string | null
  setItem(key: string, value: string): void
}

/** For tests and for places without settings: forgets. */
export const forgetful = (): Memory => {
  const kept = new Map<string, string>()
  return { getItem: key => kept.get(key) ?? null, setItem: (key, value) => void kept.set(key, value) }
}

const LONGEST_KEPT = 2000

/** A state that is there again at the next visit. What was kept and is no longer sensible is forgotten. */
export function useRemembered<T>(
  memory: Memory,
  key: string,
  read: (kept: string) => T | undefined,
  otherwise: T,
): [T, (next: T) => void] {
  const [value, setValue] = useState<T>(() => {
    const kept = memory.getItem(key)
    return (kept === null ? undefined : read(kept)) ?? otherwise
  })
  return [
    value,
    next => {
      setValue(next)
      const text = typeof next === 'string' ? next : JSON.stringify(next)
      // Settings refuse longer values; what somebody pasted by mistake need not be kept.
      if (text.length <= LONGEST_KEPT) memory.setItem(key, text)
    },
  ]
}
