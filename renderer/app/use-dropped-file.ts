import { useEffect, useRef } from 'react'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'

const notABench = (fileName: string): Problem => ({
  code: 'window.not-a-bench',
  file: fileName,
  message: 'This is not a bench file, so it was not opened.',
  expected: 'a file that ends in .preflash.json',
  remedy: 'A firmware image is dropped on Rehearse.',
})

/** A bench file dropped anywhere on the window. A view that takes the drop itself keeps it from getting here. */
export function useDroppedFile(take: (file: File) => void, tell: (error: unknown) => void): void {
  const latest = useRef({ take, tell })
  latest.current = { take, tell }
  useEffect(() => {
    const over = (event: DragEvent) => event.preventDefault()
    const drop = (event: DragEvent) => {
      const taken = event.defaultPrevented
      event.preventDefault()
      const file = event.dataTransfer?.files[0]
      if (taken || file === undefined) return
      if (file.name.endsWith('.json') && !file.name.endsWith('.card.json')) latest.current.take(file)
      else latest.current.tell(new ProblemError(notABench(file.name)))
    }
    window.addEventListener('dragover', over)
    window.addEventListener('drop', drop)
    return () => {
      window.removeEventListener('dragover', over)
      window.removeEventListener('drop', drop)
    }
  }, [])
}
