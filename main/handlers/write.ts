import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import { type Events, ProblemsError } from '../../shared/api/serve.ts'
import type { writeMethods } from '../../shared/api/write.ts'
import { questionOf } from '../../shared/bench-run/cautions.ts'
import { problemsOf } from '../../shared/bench-run/preconditions.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import { Batch, type BatchReport } from '../serial/batch.ts'
import type { Ports } from '../serial/list.ts'
import { openPort } from '../serial/open-port.ts'
import { type DeskEnv, type Interrupted, WriteDesk } from '../serial/write-desk.ts'
import type { DialectFiles } from '../store/dialect-files.ts'
import type { Library } from '../store/library.ts'
import type { Logbook } from '../store/logbook.ts'
import type { Simulate } from '../work/simulate.ts'
import { withFile } from './rehearse.ts'

export interface WriteSurroundings {
  readonly dataFolder: string
  readonly events: Events<AppContract>
  readonly logbook: Logbook
  readonly library: Library
  readonly dialects: DialectFiles
  readonly ports: Ports
  readonly simulate: Simulate
}

const NO_BATCH: BatchReport = { running: false, ports: [], done: 0, failed: 0, tally: [] }

/** `write.…`: writing through a serial programmer. */
export function writeHandlers(
  around: WriteSurroundings,
): Pick<Handlers<AppContract>, keyof typeof writeMethods> {
  const { dataFolder, events, logbook, library, dialects, ports, simulate } = around
  const env: DeskEnv = {
    ...{ dataFolder, logbook, dialects, ports, openPort, simulate },
    withFile: image => withFile(image, library),
    nowMs: () => performance.now(),
    date: () => new Date(),
    onLane: lane => events.emit('write.lane', lane),
  }
  const desk = new WriteDesk(env)
  let batch: Batch | undefined
  return {
    'write.check': async ({ plan, cautions }) => {
      const check = await desk.check(plan, cautions)
      return {
        key: check.planned?.key ?? '',
        ready: check.ready,
        preconditions: [...check.preconditions],
        questions: check.cautions.map(questionOf),
        rehearsed: check.rehearsed ?? null,
      }
    },
    'write.rehearse': ({ plan, seed }) => desk.rehearse(plan, seed),
    'write.start': async ({ plan, cautions, recovers }) => {
      const { lane } = await desk.start(plan, cautions, recovers)
      return { lane }
    },
    'write.cancel': ({ lane }) => ({ was: desk.lanes.cancel(lane) }),
    'write.lanes': () => ({ lanes: desk.lanes.reports(), batch: batch?.report() ?? null }),
    'write.dismiss': ({ lane }) => {
      desk.lanes.dismiss(lane)
      return {}
    },
    'write.trace': ({ lane, after }) => ({ piece: desk.lanes.tracePiece(lane, after) ?? null }),
    'write.interrupted': async () => ({ sessions: (await desk.interrupted()).map(interruptedReport) }),
    'write.recover': async ({ sessionId }) => {
      const { known, plan, found } = await desk.recovery(sessionId)
      const why = found !== undefined && !found.ok ? ` ${sayProblem(found.problems[0])}` : ''
      return {
        recovery: found?.ok ? found.value.recovery : null,
        rehearsed: found?.ok ? found.value.rehearsed : null,
        plan,
        words: `${known.is} ${known.next}${why}`,
      }
    },
    'write.settle': async ({ sessionId }) => {
      await desk.settle(sessionId)
      return {}
    },
    'write.batchStart': async ({ plan, ports: places, cautions }) => {
      if (batch?.running) throw new ProblemError(oneAtATime)
      // All but the ports has to hold before the first receiver is plugged in.
      const check = await desk.check({ ...plan, port: places[0] }, cautions)
      const problems = problemsOf(check).filter(problem => problem.field !== 'port')
      if (problems.length > 0 || check.planned === undefined) throw new ProblemsError(problems)
      batch = new Batch(desk, check.planned, places, cautions, {
        ...env,
        onChange: report => events.emit('write.batch', report),
      })
      return { batch: batch.report() }
    },
    'write.batchStop': () => {
      batch?.stop()
      return { batch: batch?.report() ?? NO_BATCH }
    },
  }
}

const oneAtATime = {
  code: 'write.batch-runs',
  message: 'A batch is running already.',
  remedy: 'Stop it first.',
}

const interruptedReport = ({ head, known }: Interrupted) => ({
  sessionId: head.id,
  startedAtMs: head.startedAtMs,
  receiver:
    head.receiverId === null ? null : { id: head.receiverId, nickname: head.nickname ?? head.receiverId },
  port: head.port,
  dialect: head.dialect,
  image: head.image?.name ?? null,
  state: known.state,
  stateWords: known.is,
  nextWords: known.next,
})
