import { useEffect, useRef, useState } from 'react'

const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false

/**
 * Files dropped anywhere on the page.
 * @param onDrop prevents the event's default where it takes the files; otherwise the window sees to them
 * @returns true while something that can be dropped is held over it
 */
export function usePageDrop(onDrop: (event: DragEvent) => void): boolean {
  const [isOver, setOver] = useState(false)
  const latest = useRef(onDrop)
  latest.current = onDrop
  useEffect(() => {
    const drag = (event: DragEvent) => {
      if (!hasFiles(event)) return
      event.preventDefault()
      setOver(true)
    }
    const leave = (event: DragEvent) => {
      if (event.relatedTarget === null) setOver(false)
    }
    const drop = (event: DragEvent) => {
      if (!hasFiles(event)) return
      setOver(false)
      latest.current(event)
    }
    document.addEventListener('dragover', drag)
    document.addEventListener('dragleave', leave)
    document.addEventListener('drop', drop)
    return () => {
      document.removeEventListener('dragover', drag)
      document.removeEventListener('dragleave', leave)
      document.removeEventListener('drop', drop)
    }
  }, [])
  return isOver
}
