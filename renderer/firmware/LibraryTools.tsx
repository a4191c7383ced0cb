import { useEffect, useRef } from 'react'
import { Button } from '../ui/Button.tsx'
import { type FolderFiles, filesOfFolder } from './folder-files.ts'

export interface LibraryToolsProps {
  readonly isImporting: boolean
  readonly onFolder: (files: FolderFiles) => void
  readonly onWatch: () => void
  readonly onKeys: () => void
}

/** What concerns the library as a whole, below the list of its images. */
export function LibraryTools({ isImporting, onFolder, onWatch, onKeys }: LibraryToolsProps) {
  const input = useRef<HTMLInputElement>(null)
  useEffect(() => {
    if (input.current !== null) input.current.webkitdirectory = true
  }, [])
  return (
    <section className="fw-library-tools" aria-label="The library">
      <Button kind="quiet" disabled={isImporting} onClick={() => input.current?.click()}>
        Import a folder…
      </Button>
      <Button kind="quiet" onClick={onWatch}>
        Watched folder…
      </Button>
      <Button kind="quiet" onClick={onKeys}>
        Makers’ keys…
      </Button>
      <input
        ref={input}
        type="file"
        hidden
        aria-label="A folder of image files"
        onChange={event => {
          const files = [...(event.target.files ?? [])]
          event.target.value = ''
          if (files.length > 0) onFolder(filesOfFolder(files))
        }}
      />
    </section>
  )
}
