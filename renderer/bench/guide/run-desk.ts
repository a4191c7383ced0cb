import type { OpenRun } from '../../../shared/api/guide.ts'
import { RANDOM_OCTETS, timeSortedId } from '../../../shared/logbook/session-id.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { mayStillWrite } from '../../../shared/runbook/left.ts'
import type { Repair } from '../../../shared/runbook/repair.ts'
import type { Runbook } from '../../../shared/runbook/schema.ts'
import { type RunAnswer, type RunState, runbookState, takes } from '../../../shared/runbook/state.ts'
import type { AppClient } from '../../api/client.ts'
import type { Find } from '../../diagnose/use-find.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import { saveText } from '../../ui/save-text.ts'

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
  /** The run has ended, and the logbook knows. */
  readonly isOver: boolean
  /** A repair that may have helped, until the person has said so or not. */
  readonly repair: Repair | undefined
  /** What the person has just said that it was; until the next answer. */
  readonly found: Find | undefined
}

/** What Diagnose advises as the run is gone on with. */
export interface Advice {
  /** Ids of the causes that the repair is against. */
  readonly causes: readonly string[]
  readonly isOneOf: boolean
  /** What was said to Diagnose, for the find. */
  readonly answers: Find['finding']['answers']
  readonly tried: readonly string[]
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
  private snapshot: RunSnapshot = {
    ...{ run: undefined, left: undefined, problems: [], isOver: false },
    ...{ repair: undefined, found: undefined },
  }
  private readonly listeners = new Set<() => void>()
  private readonly client: Pick<AppClient, 'call'>
  private readonly nowMs: () => number
  /** Answers of the run that are in the logbook. */
  private logged = 0
  private isEnded = false
  private sending: Promise<void> = Promise.resolve()
  private advice: Advice | undefined
  /** Of the find that is being recorded: said twice, it counts once. */
  private findId: string | undefined
  /** Settled after the run had ended, when it takes no more answers. */
  private isSettled = false

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
    const { run } = { ...this.snapshot, ...part }
    const repair = this.isSettled ? undefined : run?.state.repair
    this.snapshot = { ...this.snapshot, ...part, repair }
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
    this.startAnew()
    const run = withState({ id, beganAtMs, benchName, runbook, answers: [] })
    this.change({ ...FRESH, run })
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
    this.startAnew()
    this.change({ ...FRESH, run: left })
    return true
  }

  private startAnew(): void {
    this.isEnded = false
    this.isSettled = false
    this.findId = undefined
    this.advice = undefined
  }

  /** An answer to the step that is shown; one that changes nothing is dropped. */
  say(saying: Saying): void {
    const { run } = this.snapshot
    if (run === undefined) return
    const answer = { ...saying, step: run.state.step.id, atMs: this.nowMs() } as RunAnswer
    if (!takes(run.runbook, run.beganAtMs, run.answers, answer)) return
    this.change({ run: withState({ ...run, answers: [...run.answers, answer] }), found: undefined })
    this.sendAgain()
  }

  /** Seen as it should be; with what Diagnose advised where it was asked at this very step. */
  saw(advice?: Advice): void {
    if (advice !== undefined) {
      this.advice = advice
      this.findId = undefined
    }
    this.say({ said: 'saw', ...repairedBy(advice) })
  }

  /** The trouble is put right; with what Diagnose advises at this moment, if it does. */
  again(advice?: Advice): void {
    this.advice = advice
    this.findId = undefined
    this.say({ said: 'again', ...repairedBy(advice) })
  }

  /**
   * Whether it was what Diagnose had advised. A find is in the logbook before the run says so; what could not be
   * written can be said again.
   */
  async settle(isThat: boolean): Promise<void> {
    const { run, repair } = this.snapshot
    if (run === undefined || repair === undefined) return
    const find = isThat ? this.findFor(run, repair) : undefined
    if (find !== undefined)
      try {
        await this.client.call('diagnose.ended', find)
      } catch (error) {
        return this.change({ problems: problemsOf(error) })
      }
    this.isSettled = this.snapshot.run?.state.at === 'ended'
    this.say({ said: isThat ? 'helped' : 'not-that' })
    this.findId = undefined
    this.change({ found: find })
  }

  private findFor({ runbook, benchName }: ActiveRun, repair: Repair): Find {
    this.findId ??= timeSortedId(this.nowMs(), crypto.getRandomValues(new Uint8Array(RANDOM_OCTETS)))
    const { id: receiverId, nickname, typeId } = runbook.receiver
    const { symptom, causes, isOneOf, facts } = repair
    // Where the window was loaded anew, what was said to Diagnose is gone; the run knows the rest.
    const { answers = {}, tried = [] } = this.advice ?? {}
    return {
      ...{ receiverId, nickname, typeId, benchName },
      finding: {
        ...{ id: this.findId, symptom, route: runbook.route, causes: [...causes], isOneOf },
        ...{ answers: { ...facts, ...answers }, tried: [...tried] },
      },
    }
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
        this.change({ isOver: true })
      }
      this.change({ problems: [] })
    } catch (error) {
      this.change({ problems: problemsOf(error) })
    }
  }

  /** Hands the run out as one file: its steps, answers and times. What is not in the logbook yet goes there first. */
  async exportRun(): Promise<void> {
    this.sendAgain()
    await this.sending
    const { run, problems } = this.snapshot
    if (run === undefined || problems.length > 0) return
    try {
      const { fileName, text } = await this.client.call('log.export', { id: run.id })
      saveText(fileName, text)
    } catch (error) {
      this.change({ problems: problemsOf(error) })
    }
  }

  /** The run has ended and was looked at; the place is free for another. */
  close(): void {
    if (this.snapshot.run?.state.at === 'ended') this.change({ ...FRESH, run: undefined })
  }
}

const FRESH = { left: undefined, problems: [], isOver: false, found: undefined } as const

const repairedBy = (advice: Advice | undefined) =>
  advice === undefined ? {} : { repaired: [...advice.causes], ...(advice.isOneOf ? { isOneOf: true } : {}) }

const WRITES: readonly string[] = ['start', 'watch', 'second-start', 'second-watch']

/** What is being written right now, for the band at the top of the window; undefined where nothing is. */
export function liveWords({ run }: RunSnapshot): string | undefined {
  if (run === undefined || !WRITES.includes(run.state.step.id)) return undefined
  const { state, runbook } = run
  if (state.at === 'step') return `the radio is writing to ${runbook.receiver.nickname}`
  // Neither stopping the run nor a receiver gone dark stops the radio.
  if ((state.at === 'stopped' || state.at === 'trouble') && mayStillWrite(state))
    return `the radio may still be writing to ${runbook.receiver.nickname}`
  return undefined
}
