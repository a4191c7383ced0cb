import { recorded } from '../../shared/bench-run/answers.ts'
import type { Rehearsed } from '../../shared/bench-run/check.ts'
import type { EchoFound } from '../../shared/bench-run/echo-words.ts'
import {
  type Ended,
  endingOf,
  loggedOutcome,
  sessionEnding,
  stateEvent,
} from '../../shared/bench-run/ending.ts'
import type { LaneReport, WriteEnding } from '../../shared/bench-run/lane.ts'
import type { ReadyWrite } from '../../shared/bench-run/ready.ts'
import type { NewSession } from '../../shared/logbook/session.ts'
import { ProblemError, sayProblem } from '../../shared/model/problem.ts'
import type { Trace } from '../../shared/sim/trace.ts'
import type { TraceCursor, TracePiece } from '../../shared/sim/trace-piece.ts'
import type { Journal } from '../store/journal.ts'
import { BackupFiles } from './backup-files.ts'
import { LaneView } from './lane-view.ts'
import { LiveTrace } from './live-trace.ts'
import type { OpenOptions } from './open-port.ts'
import type { LineSettings, OpenPort, PortPlace } from './port.ts'
import { runOnPort } from './runner.ts'
import { WriteLog } from './write-log.ts'

/** One write on one port, from the first word in the logbook to the state in which the receiver is left. */

export interface WriteWish {
  readonly lane: string
  readonly ready: ReadyWrite
  readonly port: { readonly key: string; readonly label: string; readonly place: PortPlace } & OpenOptions
  readonly rehearsed: Rehearsed | null
  /** All that is needed to rehearse it again, for the logbook. */
  readonly planned: NewSession['plan']
  /** The interrupted session that this one puts right. */
  readonly recovers: string | undefined
  readonly afterwards: readonly string[]
}

export interface WriteEnv {
  readonly journal: Pick<Journal, 'begin' | 'append' | 'end'>
  readonly dataFolder: string
  readonly openPort: (where: PortPlace, settings: LineSettings, options: OpenOptions) => Promise<OpenPort>
  /** A clock that never runs back, in milliseconds. */
  readonly nowMs: () => number
  /** The time of day, for names of files. */
  readonly date: () => Date
  /** Something has changed that is shown. */
  readonly onChange: () => void
}

export class WriteSession {
  readonly wish: WriteWish
  readonly view: LaneView
  readonly #env: WriteEnv
  readonly #cancel = new AbortController()
  #trace: LiveTrace | undefined
  #echo: EchoFound | undefined

  constructor(wish: WriteWish, env: WriteEnv) {
    this.wish = wish
    this.#env = env
    const { ready, port, lane, rehearsed } = wish
    const { receiver, image, chosen } = ready
    this.view = new LaneView(
      {
        lane,
        port: { key: port.key, label: port.label },
        receiver: receiver && { id: receiver.id, nickname: receiver.nickname },
        image: { name: image.name, version: image.version, bytes: image.octets.length },
        dialect: chosen.title,
      },
      rehearsed,
      env.nowMs(),
    )
  }

  report(): LaneReport {
    return this.view.report(this.#env.nowMs())
  }

  trace(): Trace | undefined {
    return this.#trace?.snapshot(this.#env.nowMs())
  }

  /** What has gone over the line since `after`; undefined before the port is open. */
  tracePiece(after: TraceCursor | null): TracePiece | undefined {
    return this.#trace?.piece(this.view.sessionId ?? this.wish.lane, after, this.#env.nowMs())
  }

  /** Safe at every moment: it takes effect between effects, and the end says what the receiver is in. */
  cancel(): void {
    this.#cancel.abort()
  }

  /**
   * Carries it out.
   * @returns how it ended, whatever port, line, receiver or disk did
   * @throws ProblemError of the logbook where the session cannot even be begun; then nothing was touched
   */
  async run(): Promise<WriteEnding> {
    const { journal, nowMs } = this.#env
    const startedAtMs = nowMs()
    const id = journal.begin(this.#head())
    this.view.sessionId = id
    const { chosen, image } = this.wish.ready
    const log = new WriteLog(events => journal.append(id, ...events), {
      imageOctets: image.octets.length,
      beginChanges: chosen.kind === 'data' && chosen.dialect.erase === undefined,
    })
    const files = new BackupFiles(this.#env.dataFolder)
    let ended: Ended
    try {
      ended = await this.#carryOut(log, files)
    } catch (error) {
      ended = { how: 'stopped', ...stoppedBy(error) }
    } finally {
      await files.close()
    }
    const seconds = (nowMs() - startedAtMs) / 1000
    const { afterwards } = this.wish
    const end = endingOf({
      ...{ ended, log: log.events, backupFile: files.kept, seconds, afterwards },
      echo: this.#echo,
    })
    const told = this.#commitEnd(id, log, end)
    this.view.finish(told, ended.how === 'returned' ? ended.end : undefined, nowMs())
    this.#env.onChange()
    return told
  }

  #head(): NewSession {
    const { ready, port, planned, recovers } = this.wish
    const { receiver, benchName, chosen, image } = ready
    return {
      kind: 'write',
      receiverId: receiver?.id ?? null,
      nickname: receiver?.nickname ?? null,
      typeId: receiver?.typeId ?? null,
      benchName,
      port: port.label.slice(0, 200),
      dialect: chosen.name,
      image: {
        name: image.name.slice(0, 200) || 'image',
        version: image.version?.slice(0, 64) ?? null,
        sha256: image.sha256,
        sizeBytes: image.octets.length,
      },
      recovers: recovers ?? null,
      plan: planned,
    }
  }

  async #carryOut(log: WriteLog, files: BackupFiles): Promise<Ended> {
    const { ready, port: where } = this.wish
    const { nowMs, openPort, date } = this.#env
    if (ready.canBackUp) await files.mustBeUsable()
    log.add({ kind: 'effect', effect: 'line', text: `Open ${where.label}` })
    const port = await openPort(where.place, ready.line, where)
    const trace = new LiveTrace({
      label: where.label,
      settings: port.settings,
      latencyMs: port.latencyMs,
      startedAtMs: nowMs(),
    })
    this.#trace = trace
    let isWell = false
    try {
      const backupPath = ready.canBackUp ? backupName(ready, date()) : undefined
      const procedure = recorded(ready.procedure(backupPath, true), text => log.answered(text))
      const end = await runOnPort(procedure, {
        ...{ port, echo: ready.echo, trace, nowMs, signal: this.#cancel.signal },
        onEcho: seen => {
          this.#echo = { expected: ready.echo, seen }
        },
        store: request => files.ask(request),
        before: effect => {
          const atMs = nowMs()
          log.before(effect, atMs)
          this.view.before(effect, atMs)
        },
        onEvent: (event, atMs) => {
          log.said(event)
          this.view.tell(event, atMs)
          this.#env.onChange()
        },
      })
      isWell = end.ended === 'returned' && end.value.ended === 'done'
      if (end.ended === 'returned') return { how: 'returned', end: end.value }
      const how = end.why === 'overdue' ? 'stopped' : end.why
      return { how, code: end.why, text: end.text }
    } finally {
      trace.done(nowMs(), isWell ? 'done' : 'failed')
      await port.close()
    }
  }

  /** What cannot be committed any more is said on the screen at least. */
  #commitEnd(id: string, log: WriteLog, end: WriteEnding): WriteEnding {
    const onlyBootRom = this.wish.ready.chosen.name === 'st-an3155'
    const outcome = loggedOutcome(end, onlyBootRom)
    try {
      const state = stateEvent(end, onlyBootRom)
      log.end(
        state,
        ...(outcome ? [{ kind: 'outcome', outcome, text: end.text || end.stateWords } as const] : []),
      )
      this.#env.journal.end(id, { ending: sessionEnding(end), outcome })
      return end
    } catch (error) {
      const why = error instanceof ProblemError ? sayProblem(error.problem) : 'It could not be written down.'
      return { ...end, text: `${end.text} The end of this session is not in the logbook: ${why}`.trim() }
    }
  }
}

function stoppedBy(error: unknown): { readonly code: string; readonly text: string } {
  if (error instanceof ProblemError) return { code: error.problem.code, text: sayProblem(error.problem) }
  const text = error instanceof Error ? error.message : String(error)
  return { code: 'write.broken', text: `Something went wrong inside Preflash: ${text.slice(0, 300)}` }
}

/** Named by time and receiver, so that they list in order. */
function backupName({ receiver, image }: ReadyWrite, date: Date): string {
  const at = date
    .toISOString()
    .replace(/[-:]/g, '')
    .replace(/\.\d+Z$/, 'Z')
  return `${at}-${receiver?.id ?? 'device'}-before-${(image.version ?? 'new').replace(/[^0-9A-Za-z.-]/g, '-')}.bin`
}
