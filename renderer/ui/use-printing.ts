import { useEffect, useState } from 'react'
import { flushSync } from 'react-dom'

/**
 * Whether the page is being put on paper right now: for what stands on paper alone, and would only be in the way of a
 * screen reader otherwise. It is there before the browser lays the paper out.
 */
export function usePrinting(): boolean {
  const [isPrinting, setPrinting] = useState(false)
  useEffect(() => {
    const paper = matchMedia('print')
    const begin = () => flushSync(() => setPrinting(true))
    const end = () => setPrinting(paper.matches)
    const change = () => (paper.matches ? begin() : end())
    window.addEventListener('beforeprint', begin)
    window.addEventListener('afterprint', end)
    paper.addEventListener('change', change)
    return () => {
      window.removeEventListener('beforeprint', begin)
      window.removeEventListener('afterprint', end)
      paper.removeEventListener('change', change)
    }
  }, [])
  return isPrinting
}
