import { useEffect, useState } from 'react'
import { isBenchFile } from './files.ts'

const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false

/** Files dropped anywhere on the page. @returns true while something that can be dropped is held over it */
export function useFileDrop(take: (files: readonly File[]) => void): boolean {
  const [over, setOver] = useState(false)
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
      const files = [...(event.dataTransfer?.files ?? [])]
      if (files.length > 0 && files.every(isBenchFile)) return
      event.preventDefault()
      take(files)
    }
    document.addEventListener('dragover', drag)
    document.addEventListener('dragleave', leave)
    document.addEventListener('drop', drop)
    return () => {
      document.removeEventListener('dragover', drag)
      document.removeEventListener('dragleave', leave)
      document.removeEventListener('drop', drop)
    }
  }, [take])
  return over
}
