import { isBenchFile } from '../rehearse/setup/files.ts'
import { usePageDrop } from '../ui/use-page-drop.ts'
import { type FolderFiles, filesOfEntries } from './folder-files.ts'

/**
 * Files and folders dropped anywhere on the page; a bench file alone is the window's business.
 * @returns true while something that can be dropped is held over it
 */
export function useDrop(take: (dropped: FolderFiles) => void): boolean {
  return usePageDrop(event => {
    const files = [...(event.dataTransfer?.files ?? [])]
    // The items are gone as soon as this handler has returned.
    const entries = [...(event.dataTransfer?.items ?? [])].map(item => item.webkitGetAsEntry?.() ?? null)
    const folders = entries.filter(entry => entry?.isDirectory)
    if (folders.length === 0 && files.length > 0 && files.every(isBenchFile)) return
    event.preventDefault()
    if (folders.length === 0) take({ files, bounds: [], isFolder: false })
    else void filesOfEntries(entries.filter(entry => entry !== null)).then(take)
  })
}
