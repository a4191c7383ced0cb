import { useEffect, useRef } from 'react'

/** A bench file dropped anywhere on the window. A view that takes the drop itself keeps it from getting here. */
export function useDroppedFile(take: (file: File) => void): void {
  const latest = useRef(take)
  latest.current = take
  useEffect(() => {
    const over = (event: DragEvent) => event.preventDefault()
    const drop = (event: DragEvent) => {
      const taken = event.defaultPrevented
      event.preventDefault()
      const file = event.dataTransfer?.files[0]
      if (!taken && file?.name.endsWith('.json') && !file.name.endsWith('.card.json')) latest.current(file)
    }
    window.addEventListener('dragover', over)
    window.addEventListener('drop', drop)
    return () => {
      window.removeEventListener('dragover', over)
      window.removeEventListener('drop', drop)
    }
  }, [])
}
