import { useEffect, useRef, useState } from 'react'
import { isBenchFile } from '../rehearse/setup/files.ts'
import { type FolderFiles, filesOfEntries } from './folder-files.ts'

const hasFiles = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false

/**
 * Files and folders dropped anywhere on the page; a bench file alone is the window's business.
 * @returns true while something that can be dropped is held over it
 */
export function useDrop(take: (dropped: FolderFiles) => void): boolean {
  const [isOver, setOver] = useState(false)
  const latest = useRef(take)
  latest.current = take
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
      // The items are gone as soon as this handler has returned.
      const entries = [...(event.dataTransfer?.items ?? [])].map(item => item.webkitGetAsEntry?.() ?? null)
      const folders = entries.filter(entry => entry?.isDirectory)
      if (folders.length === 0 && files.length > 0 && files.every(isBenchFile)) return
      event.preventDefault()
      if (folders.length === 0) latest.current({ files, bounds: [], isFolder: false })
      else void filesOfEntries(entries.filter(entry => entry !== null)).then(all => latest.current(all))
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
