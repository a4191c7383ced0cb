import { randomBytes } from 'node:crypto'
import { DEMO_BENCH_NAME } from '../../shared/demo/bench.ts'
import type { DiagnosisRequest } from '../../shared/diagnose/report.ts'
import { findingOf } from '../../shared/logbook/finding-of.ts'
import { RANDOM_OCTETS, timeSortedId } from '../../shared/logbook/session-id.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { isKnown } from '../../shared/model/units.ts'
import type { Logbook } from '../store/logbook.ts'
import type { Keep } from './diagnose-talk.ts'

/** What the diagnosis of the command line takes from the logbook, and writes into it. */

/** What the logbook says of the odds; what is wrong with it goes to `complain`, and nothing else fails. */
export async function countsFrom(
  logbook: Logbook,
  bench: Bench,
  complain: (line: string) => void,
): Promise<Pick<DiagnosisRequest, 'counts' | 'secondTries'>> {
  const { counts, secondTries, problem } = await logbook.counts(bench.name)
  if (problem) complain(sayProblem(problem))
  return { counts, secondTries }
}

/** Writes a find into the logbook; what keeps it from that is said. */
export const keeper =
  (logbook: Logbook, bench: Bench): Keep =>
  async (diagnosis, found, said) => {
    const { id: receiverId, nickname } = diagnosis.receiver
    const typeId = bench.receivers.find(r => r.id === receiverId)?.typeId
    const finding = findingOf(timeSortedId(Date.now(), randomBytes(RANDOM_OCTETS)), diagnosis, found, said)
    const about = { receiverId, nickname, benchName: bench.name, finding }
    const known = typeId !== undefined && isKnown(typeId) ? { typeId } : {}
    try {
      await logbook.use(journal => journal.recordFinding({ ...about, ...known }))
      return [`Written into the logbook, ${logbook.file}. ${countWords(bench, finding.isOneOf)}`]
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error
      return [`This is not in the logbook. ${sayProblem(error.problem)}`]
    }
  }

const countWords = (bench: Bench, isOneOf: boolean): string =>
  isOneOf
    ? 'It does not change the odds, since several were put right at once.'
    : bench.name === DEMO_BENCH_NAME
      ? 'It changes the odds on the demo bench alone.'
      : 'It changes the odds of the next diagnosis.'
