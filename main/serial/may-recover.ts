import { logIdSchema } from '../../shared/logbook/session-id.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { Journal } from '../store/journal.ts'

/**
 * A write that puts another one right ends it in the logbook: so that one has to be a write to the same receiver, and
 * nobody may be at it still.
 * @param receiverId null for a receiver on no bench
 * @throws ProblemError `logbook.no-session`, `write.recovers`
 */
export function mayRecover(
  journal: Pick<Journal, 'session' | 'interrupted'>,
  sessionId: string,
  receiverId: string | null,
): void {
  if (!logIdSchema.safeParse(sessionId).success)
    throw new ProblemError({
      code: 'logbook.no-session',
      field: 'recovers',
      message: `"${sessionId.slice(0, 60)}" is not the whole id of a session in the logbook.`,
      remedy: 'Those that broke off are listed with: preflash log --interrupted',
    })
  const { session } = journal.session(sessionId)
  const runs = session.endedAtMs === null && !journal.interrupted().some(({ id }) => id === sessionId)
  const why =
    session.kind !== 'write'
      ? 'It is no write through a programmer.'
      : session.receiverId !== receiverId
        ? `It was about ${session.nickname ?? 'a receiver on no bench'}, which is not the receiver of this write.`
        : runs
          ? 'It is still running.'
          : undefined
  if (why === undefined) return
  throw new ProblemError({
    code: 'write.recovers',
    field: 'recovers',
    message: `This write cannot put the session ${sessionId} right. ${why}`,
    remedy: 'Name the session of this receiver that broke off, or none.',
  })
}
