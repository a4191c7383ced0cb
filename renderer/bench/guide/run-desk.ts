import type { OpenRun } from '../../../shared/api/guide.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { mayStillWrite } from '../../../shared/runbook/left.ts'
import type { Runbook } from '../../../shared/runbook/schema.ts'
import { type RunAnswer, type RunState, runbookState, takes } from '../../../shared/runbook/state.ts'
import type { AppClient } from '../../api/client.ts'
import { problemsOf } from '../../ui/Notice.tsx'

/** A guided run in the window. */
export interface ActiveRun extends OpenRun {
  readonly state: RunState
}

export interface RunSnapshot {
  readonly run: ActiveRun | undefined
  /** One that an earlier window or program left open, until it is gone on with or given up. */
  readonly left: ActiveRun | undefined
  /** Why something is not in the logbook. */
  readonly problems: readonly Problem[]
}

/** What is said of the step that is shown. */
export type Saying = RunAnswer extends infer A
  ? A extends unknown
    ? Omit<A, 'step' | 'atMs'>
    : never
  : never

const withState = (run: OpenRun): ActiveRun => ({
  ...run,
  state: runbookState(run.runbook, run.beganAtMs, run.answers),
})

/**
 * The guided run of this window. It is kept while other views are shown; every answer goes to the logbook, in order,
 * and what has not got there yet is sent along with the next.
 */
export class RunDesk {
  private snapshot: RunSnapshot = { run: undefined, left: undefined, problems: [] }
  private readonly listeners = new Set<() => void>()
  private readonly client: Pick<AppClient, 'call'>
  private readonly nowMs: () => number
  /** Answers of the run that are in the logbook. */
  private logged = 0
  private isEnded = false
  private sending: Promise<void> = Promise.resolve()

  constructor(client: Pick<AppClient, 'call'>, nowMs: () => number = Date.now) {
    this.client = client
    this.nowMs = nowMs
  }

  readonly subscribe = (listener: () => void): (() => void) => {
    this.listeners.add(listener)
    return () => this.listeners.delete(listener)
  }
  readonly get = (): RunSnapshot => this.snapshot

  private change(part: Partial<RunSnapshot>): void {
    this.snapshot = { ...this.snapshot, ...part }
    for (const listener of this.listeners) listener()
  }

  /** Looks for a run that was left open; a logbook that cannot be read is no reason to disturb anybody here. */
  async look(): Promise<void> {
    try {
      const { run } = await this.client.call('guide.open', {})
      if (run !== null && this.snapshot.run === undefined) this.change({ left: withState(run) })
    } catch {
      return
    }
  }

  /** Rejects with problems where it cannot be written down: then it is not begun. */
  async begin(runbook: Runbook, benchName: string): Promise<void> {
    const { id, beganAtMs } = await this.client.call('guide.begin', { runbook, benchName })
    this.logged = 0
    this.isEnded = false
    const run = withState({ id, beganAtMs, benchName, runbook, answers: [] })
    this.change({ run, left: undefined, problems: [] })
  }

  /** Goes on with the run that was left. */
  takeUp(): void {
    if (this.take()) this.say({ said: 'resume' })
  }

  /** Stops the run that was left, where it stands: what the receiver is in is shown, before it is ended for good. */
  stopLeft(): void {
    if (this.take()) this.say({ said: 'stop' })
  }

  private take(): boolean {
    const { left } = this.snapshot
    if (left === undefined) return false
    this.logged = left.answers.length
    this.isEnded = false
    this.change({ run: left, left: undefined, problems: [] })
    return true
  }

  /** An answer to the step that is shown; one that changes nothing is dropped. */
  say(saying: Saying): void {
    const { run } = this.snapshot
    if (run === undefined) return
    const answer = { ...saying, step: run.state.step.id, atMs: this.nowMs() } as RunAnswer
    if (!takes(run.runbook, run.beganAtMs, run.answers, answer)) return
    this.change({ run: withState({ ...run, answers: [...run.answers, answer] }) })
    this.sendAgain()
  }

  /** Writes down what is missing in the logbook. */
  sendAgain(): void {
    this.sending = this.sending.then(() => this.send())
  }

  /** Sends what is not in the logbook yet, and ends the run there once it has ended here. */
  private async send(): Promise<void> {
    const { run } = this.snapshot
    if (run === undefined) return
    const { id, answers } = run
    try {
      if (answers.length > this.logged) {
        const more = { id, from: this.logged, answers: answers.slice(this.logged) }
        this.logged = (await this.client.call('guide.append', more)).count
      }
      if (run.state.at === 'ended' && !this.isEnded) {
        await this.client.call('guide.end', { id })
        this.isEnded = true
      }
      this.change({ problems: [] })
    } catch (error) {
      this.change({ problems: problemsOf(error) })
    }
  }

  /** The run has ended and was looked at; the place is free for another. */
  close(): void {
    if (this.snapshot.run?.state.at === 'ended') this.change({ run: undefined, problems: [] })
  }
}

const WRITES: readonly string[] = ['start', 'watch', 'second-start', 'second-watch']

/** What is being written right now, for the band at the top of the window; undefined where nothing is. */
export function liveWords({ run }: RunSnapshot): string | undefined {
  if (run === undefined || !WRITES.includes(run.state.step.id)) return undefined
  const { state, runbook } = run
  if (state.at === 'step') return `the radio is writing to ${runbook.receiver.nickname}`
  // Stopping the run does not stop the radio.
  if (state.at === 'stopped' && mayStillWrite(state))
    return `the radio may still be writing to ${runbook.receiver.nickname}`
  return undefined
}
