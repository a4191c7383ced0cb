import { useCallback, useRef, useState } from 'react'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'
import { useFileDrop } from '../rehearse/setup/use-file-drop.ts'
import { Button } from '../ui/Button.tsx'
import { ProblemList } from '../ui/Notice.tsx'
import type { Answer, ImageAnswer } from './answers.ts'
import { readImageFile, sayImage } from './image-file.ts'

interface ImageQuestionProps {
  readonly answer: Answer<ImageAnswer>
  readonly onAnswer: (image: ImageAnswer | undefined) => void
}

/** The image file, by dialog or by drag and drop; it is recognised at once. */
export function ImageQuestion({ answer, onAnswer }: ImageQuestionProps) {
  const input = useRef<HTMLInputElement>(null)
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const take = useCallback(
    async (files: readonly File[]) => {
      const read = await readImageFile(files)
      setProblems(read.ok ? [] : read.problems)
      // A file that cannot be read must not leave the one before it chosen.
      onAnswer(read.ok ? read.value : undefined)
    },
    [onAnswer],
  )
  const over = useFileDrop(files => void take(files))
  return (
    <div className="new-bench-image">
      <div className={over ? 'new-bench-drop new-bench-drop-over' : 'new-bench-drop'}>
        {answer ? (
          <div>
            <strong className="new-bench-file">{answer.fileName}</strong>
            <p>{sayImage(answer)}</p>
          </div>
        ) : (
          <p>{over ? 'Let go to take this file.' : 'Drop the file here, or'}</p>
        )}
        <Button onClick={() => input.current?.click()}>
          {answer ? 'Choose another file…' : 'Choose a file…'}
        </Button>
        <input
          ref={input}
          className="visually-hidden"
          type="file"
          tabIndex={-1}
          aria-label="Image file, Intel HEX or raw binary"
          onChange={event => {
            const files = [...(event.target.files ?? [])]
            event.target.value = ''
            void take(files)
          }}
        />
      </div>
      <div aria-live="polite">
        {answer?.inspected.problems.map(problem => (
          <p key={sayProblem(problem)} className="new-bench-soft">
            {problem.message} {problem.remedy}
          </p>
        ))}
      </div>
      {problems.length > 0 && <ProblemList problems={problems} />}
    </div>
  )
}
