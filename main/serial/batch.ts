import type { z } from 'zod'
import { ProblemsError } from '../../shared/api/serve.ts'
import type { batchReportSchema } from '../../shared/api/write.ts'
import type { CautionAnswers } from '../../shared/bench-run/check.ts'
import { type WhoIsThere, whoIsThere } from '../../shared/bench-run/identify.ts'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import type { PlannedWrite } from '../../shared/bench-run/ready.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import { waitMs } from './bounded.ts'
import type { OpenPort } from './port.ts'
import { runOnPort } from './runner.ts'
import type { WriteDesk } from './write-desk.ts'
import type { WriteEnv } from './write-session.ts'

export type BatchReport = z.output<typeof batchReportSchema>

/** The same image into one receiver after the other: plug, wait until it names itself, write, verify, next. */

export interface BatchEnv extends Pick<WriteEnv, 'openPort' | 'nowMs' | 'date'> {
  readonly onChange: (report: BatchReport) => void
  /** Between two looks whether somebody is there; shorter in tests. */
  readonly lookMs?: number
}

const LOOK_MS = 500
const MOST_TALLIED = 1000

const waits = {
  looking: 'Plug a receiver in.',
  writing: 'It is being written.',
  unplug: 'Done: unplug it, and plug the next one in.',
  failed: 'This one failed: unplug it, and plug the next one in.',
  stopped: 'Stopped.',
} as const

/** Who is there, and where nobody is why the port could not be asked. */
type Looked = WhoIsThere & { readonly inTheWay?: string }

interface PortState {
  readonly key: string
  label: string
  waiting: string
  lane: string | null
}

export class Batch {
  readonly #desk: WriteDesk
  readonly #plan: WritePlan
  readonly #answers: CautionAnswers
  readonly #env: BatchEnv
  readonly #stop = new AbortController()
  readonly #ports: PortState[]
  readonly #tally: BatchReport['tally'] = []
  #done = 0
  #failed = 0
  readonly ended: Promise<void>

  constructor(
    desk: WriteDesk,
    planned: PlannedWrite,
    ports: readonly string[],
    answers: CautionAnswers,
    env: BatchEnv,
  ) {
    this.#desk = desk
    this.#plan = planned.plan
    this.#answers = answers
    this.#env = env
    this.#ports = [...new Set(ports)].map(key => ({ key, label: key, waiting: waits.looking, lane: null }))
    this.ended = Promise.all(this.#ports.map(port => this.#serve(port, planned))).then(() => {})
  }

  /** What is being written is written to its end; nothing new begins. */
  stop(): void {
    this.#stop.abort()
    this.#tell()
  }

  get running(): boolean {
    return !this.#stop.signal.aborted || this.#ports.some(port => port.lane !== null)
  }

  report(): BatchReport {
    return {
      running: this.running,
      ports: this.#ports.map(({ key, label, waiting, lane }) => ({ key, label, waiting, lane })),
      done: this.#done,
      failed: this.#failed,
      tally: [...this.#tally],
    }
  }

  async #serve(port: PortState, planned: PlannedWrite): Promise<void> {
    const { signal } = this.#stop
    let seenBefore = false
    while (!signal.aborted) {
      const who = await this.#look(port, planned)
      if (signal.aborted) break
      if (!who.there) {
        seenBefore = false
        this.#wait(port, who.inTheWay ?? waits.looking)
      } else if (!seenBefore) {
        seenBefore = true
        if (!who.right) this.#wait(port, `This is ${who.identity}, which the image is not for. Unplug it.`)
        else if (who.current) this.#wait(port, `It runs this image already (${who.identity}). Unplug it.`)
        else await this.#write(port, who)
      }
      await this.#pause()
    }
    this.#wait(port, waits.stopped)
  }

  /** Somebody who is not there, a port that is not there: both are waited for. */
  async #look(port: PortState, planned: PlannedWrite): Promise<Looked> {
    const nobody: WhoIsThere = { there: false, identity: '', right: false, current: false }
    let open: OpenPort | undefined
    try {
      const where = await this.#desk.port(port.key)
      this.#call(port, where.label)
      open = await this.#env.openPort(where.place, planned.ready.line, where)
      const end = await runOnPort(whoIsThere(planned), {
        ...{ port: open, echo: planned.ready.echo, signal: this.#stop.signal, nowMs: this.#env.nowMs },
        store: () => ({ got: 'failed', why: 'absent' }),
        onEvent: () => {},
      })
      return end.ended === 'returned' ? end.value : nobody
    } catch (error) {
      // Whoever is told to plug a receiver in at a port that cannot be opened does so for nothing.
      if (error instanceof ProblemError || error instanceof ProblemsError)
        return { ...nobody, inTheWay: error.message }
      throw error
    } finally {
      await open?.close()
    }
  }

  async #write(port: PortState, who: WhoIsThere): Promise<void> {
    let end: WriteEnding | undefined
    let text = ''
    try {
      const started = await this.#desk.start({ ...this.#plan, port: port.key }, this.#answers)
      port.lane = started.lane
      this.#wait(port, waits.writing)
      end = await started.ended
      text = end.text || end.stateWords
    } catch (error) {
      if (!(error instanceof ProblemError || error instanceof ProblemsError)) throw error
      text = error.message
    }
    const isWell = end?.outcome === 'updated' || end?.outcome === 'unproven'
    if (isWell) this.#done++
    else this.#failed++
    this.#tally.push({
      atMs: this.#env.date().getTime(),
      port: port.label,
      identity: end?.identity.map(f => `${f.label} ${f.value}`).join(', ') || who.identity,
      outcome: end?.outcome ?? 'failed',
      text,
    })
    if (this.#tally.length > MOST_TALLIED) this.#tally.shift()
    port.lane = null
    this.#wait(port, isWell ? waits.unplug : waits.failed)
  }

  /** The name that somebody has given it, once it is known. */
  #call(port: PortState, label: string): void {
    if (port.label === label) return
    port.label = label
    this.#tell()
  }

  #wait(port: PortState, words: string): void {
    if (port.waiting === words && words !== waits.stopped) return
    port.waiting = words
    this.#tell()
  }

  #tell(): void {
    this.#env.onChange(this.report())
  }

  #pause(): Promise<void> {
    return waitMs(this.#env.lookMs ?? LOOK_MS)
  }
}
