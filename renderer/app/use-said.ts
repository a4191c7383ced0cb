import { useCallback, useEffect, useState } from 'react'

const SHOWN_MS = 6000

export interface Said {
  readonly text: string
  /** Grows with each sentence, so that the same one can be read out again. */
  readonly turn: number
}

/**
 * One short sentence about what has just been done, shown for a while. Nothing that the person must act on belongs
 * here; that is a Notice.
 */
export function useSaid(): [Said, (text: string) => void] {
  const [said, setSaid] = useState<Said>({ text: '', turn: 0 })
  const say = useCallback((text: string) => setSaid(before => ({ text, turn: before.turn + 1 })), [])
  useEffect(() => {
    if (said.text === '') return
    const timer = setTimeout(() => setSaid({ text: '', turn: said.turn }), SHOWN_MS)
    return () => clearTimeout(timer)
  }, [said])
  return [said, say]
}
