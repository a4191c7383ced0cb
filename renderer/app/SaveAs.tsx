import { useState } from 'react'
import { type Problem, sayProblem } from '../../shared/model/problem.ts'
import { problemsOf } from '../ui/Notice.tsx'
import { Ask } from './Ask.tsx'

export interface SaveAsProps {
  readonly suggested: string
  readonly onSave: (fileName: string, overwrite: boolean) => Promise<void>
  readonly onClose: () => void
}

const ENDING = '.preflash.json'

/** A file named on the command line is known by its whole path; a name is only the last part of it. */
function plainName(suggested: string): string {
  const last = suggested.split(/[\\/]/).at(-1) ?? suggested
  return last.endsWith(ENDING) ? last.slice(0, -ENDING.length) : last.replace(/\.json$/, '')
}

export function SaveAs({ suggested, onSave, onClose }: SaveAsProps) {
  const [name, setName] = useState(() => plainName(suggested))
  const [problem, setProblem] = useState<Problem>()
  const exists = problem?.code === 'bench.exists'
  const save = async () => {
    try {
      await onSave(`${name}${ENDING}`, exists)
      onClose()
    } catch (error) {
      setProblem(problemsOf(error)[0])
    }
  }
  return (
    <Ask
      title="Save this bench"
      yes={exists ? 'Replace it' : 'Save'}
      onYes={() => void save()}
      onNo={onClose}
    >
      <label>
        Name
        <input
          value={name}
          // biome-ignore lint/a11y/noAutofocus: the dialog has been asked for, and this is its only field
          autoFocus
          onChange={e => {
            setName(e.target.value)
            setProblem(undefined)
          }}
          aria-invalid={problem !== undefined}
          aria-describedby="save-as-hint"
        />
      </label>
      <p id="save-as-hint" role={problem ? 'alert' : undefined}>
        {problem
          ? sayProblem(problem)
          : 'It is kept in the benches folder of Preflash, and listed on the first screen.'}
      </p>
    </Ask>
  )
}
