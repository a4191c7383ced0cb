import type { ReactNode } from 'react'
import { type Problem, ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { Button } from './Button.tsx'

export interface NoticeProps {
  readonly kind?: 'plain' | 'good' | 'caution' | 'danger'
  readonly children: ReactNode
  readonly onClose?: () => void
}

const words = { plain: '', good: 'Done. ', caution: 'Note. ', danger: 'Problem. ' } as const

/** Something the person should read now. The kind is said in a word, not by colour alone. */
export function Notice({ kind = 'plain', children, onClose }: NoticeProps) {
  return (
    <div
      className={`notice ${kind === 'plain' ? '' : `notice-${kind}`}`}
      role={kind === 'danger' ? 'alert' : 'status'}
    >
      <div>
        <strong>{words[kind]}</strong>
        {children}
      </div>
      {onClose && (
        <Button kind="quiet" onClick={onClose}>
          Close
        </Button>
      )}
    </div>
  )
}

/** The problems behind an error of the contract, or the error itself in one. */
export function problemsOf(error: unknown): readonly Problem[] {
  if (error instanceof ProblemError) return [error.problem]
  const many = (error as { problems?: readonly Problem[] } | undefined)?.problems
  if (Array.isArray(many)) return many
  return [{ code: 'window.unexpected', message: error instanceof Error ? error.message : String(error) }]
}

export function ProblemList({
  problems,
  onClose,
}: {
  readonly problems: readonly Problem[]
  readonly onClose?: () => void
}) {
  return (
    <Notice kind="danger" onClose={onClose}>
      {problems.length === 1 ? sayProblem(problems[0]) : null}
      {problems.length > 1 && (
        <ul>
          {problems.map(p => (
            <li key={sayProblem(p)}>{sayProblem(p)}</li>
          ))}
        </ul>
      )}
    </Notice>
  )
}
