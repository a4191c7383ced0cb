import type { Problem } from '../../../shared/model/problem.ts'
import { Notice, ProblemList } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'

interface FailedProps {
  readonly problems: readonly Problem[]
  /** The chosen volume is listed at this moment. */
  readonly isThere: boolean
}

/** What went wrong, what has become of the old file, and whether it can be tried again. */
export function Failed({ problems, isThere }: FailedProps) {
  const wasStopped = problems.length === 1 && problems[0].code === 'stage.cancelled'
  return (
    <div className="st-failed">
      {wasStopped ? (
        <Notice>
          {problems[0].message} {problems[0].remedy}
        </Notice>
      ) : (
        <ProblemList problems={problems} />
      )}
      <p role="status">
        <StatusMark status={isThere ? 'good' : 'unknown'}>
          {isThere ? 'The volume is there.' : 'The volume is not there at this moment.'}
        </StatusMark>
      </p>
    </div>
  )
}
