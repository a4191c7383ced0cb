import { usePageDrop } from '../../ui/use-page-drop.ts'
import { isBenchFile } from './files.ts'

/** Files dropped anywhere on the page. @returns true while something that can be dropped is held over it */
export function useFileDrop(take: (files: readonly File[]) => void): boolean {
  return usePageDrop(event => {
    const files = [...(event.dataTransfer?.files ?? [])]
    if (files.length > 0 && files.every(isBenchFile)) return
    event.preventDefault()
    take(files)
  })
}
