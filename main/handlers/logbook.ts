import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { logbookMethods } from '../../shared/api/logbook.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { Journal } from '../store/journal.ts'
import type { Logbook } from '../store/logbook.ts'

const told = ({ problem }: Journal): { problem?: Problem } => (problem === undefined ? {} : { problem })

/** `log.…`, and what diagnoses ended with. */
export function logbookHandlers(logbook: Logbook): Pick<Handlers<AppContract>, keyof typeof logbookMethods> {
  return {
    'log.sessions': query =>
      logbook.look(journal => ({ ...journal.sessions(query), ...told(journal) }), {
        sessions: [],
        next: null,
      }),
    'log.session': ({ id }) => logbook.use(journal => journal.session(id)),
    'log.export': ({ id }) =>
      logbook.use(journal => ({ fileName: `session-${id}.json`, text: journal.exportSession(id) })),
    'log.interrupted': () =>
      logbook.look(journal => ({ sessions: journal.interrupted(), ...told(journal) }), { sessions: [] }),
    'log.experience': query => logbook.experience(query),
    'diagnose.ended': about =>
      logbook.use(journal => ({ session: journal.recordFinding(about), ...told(journal) })),
    'diagnose.cameBack': ({ id }) =>
      logbook.use(journal => {
        journal.withdrawFinding(id)
        return {}
      }),
  }
}
