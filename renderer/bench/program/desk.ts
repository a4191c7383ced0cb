import type { LaneReport } from '../../../shared/bench-run/lane.ts'
import type { WritePlanInput } from '../../../shared/bench-run/plan.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import { saveText } from '../../ui/save-text.ts'
import type { WayId } from '../ways.ts'
import type { BatchReport, Interrupted, ProgramClient, WriteRecovery } from './client.ts'
import { type Draft, freshDraft } from './draft.ts'
import { readTicks, type Ticks, ticksKey, withoutTicks, withTick, writeTicks } from './ticks.ts'

export interface WriteSnapshot {
  /** Those that run, and those that have ended and are still on the screen; in the order in which they began. */
  readonly lanes: readonly LaneReport[]
  /** What broke off with an earlier program, until somebody has seen to it. */
  readonly interrupted: readonly Interrupted[]
  readonly batch: BatchReport | undefined
  /** What is set for each receiver, by its id. */
  readonly drafts: ReadonlyMap<string, Draft>
  /** The way back that is looked at. */
  readonly recovery: Recovering | undefined
  /** The way to write that was chosen last; the next start begins with it. */
  readonly way: WayId
  /** A dialect that is being written, kept while something else is looked at. */
  readonly editing: Editing | undefined
  /** What was ticked at the ends that stand on the screen. */
  readonly ticks: Ticks
  /** Something is being written, and the machine does not answer any more. */
  readonly isLost: boolean
  readonly problems: readonly Problem[]
}

export interface Editing {
  /** Undefined for a new one. */
  readonly name: string | undefined
  /** What has been typed; undefined where nothing has. */
  readonly text: string | undefined
  /** The exchange that it is tested against. */
  readonly exchange?: string
}

export interface Recovering extends WriteRecovery {
  readonly sessionId: string
  readonly stateWords: string
}

type Keep = Pick<Storage, 'getItem' | 'setItem'>
const KEPT = 'preflash.program'
const KEPT_WAY = 'preflash.way'
const KEPT_TICKS = 'preflash.ticks'
const WATCH_MS = 2000

/**
 * The writes of this window. They go on in the machine whatever view is shown; here is what they last told, and what is
 * set for the next.
 */
export class WriteDesk {
  private snapshot: WriteSnapshot = {
    lanes: [],
    interrupted: [],
    batch: undefined,
    drafts: new Map(),
    recovery: undefined,
    way: 'guide',
    editing: undefined,
    ticks: new Map(),
    isLost: false,
    problems: [],
  }
  private readonly listeners = new Set<() => void>()
  /** Lanes that a batch has begun. */
  private readonly ofBatch = new Set<string>()
  private readonly client: ProgramClient
  private readonly memory: Keep

  constructor(client: ProgramClient, memory: Keep) {
    this.client = client
    this.memory = memory
    const way = memory.getItem(KEPT_WAY) === 'program' ? 'program' : 'guide'
    this.snapshot = { ...this.snapshot, way, ticks: readTicks(memory.getItem(KEPT_TICKS)) }
  }

  readonly subscribe = (listener: () => void): (() => void) => {
    this.listeners.add(listener)
    return () => this.listeners.delete(listener)
  }
  readonly get = (): WriteSnapshot => this.snapshot

  private change(part: Partial<WriteSnapshot>): void {
    this.snapshot = { ...this.snapshot, ...part }
    for (const listener of this.listeners) listener()
  }

  /** Listens from now on, and asks what runs already. @returns the function that stops listening */
  listen(): () => void {
    const ends = [
      this.client.on('write.lane', lane => this.told(lane)),
      this.client.on('write.batch', batch => {
        for (const { lane } of batch.ports) if (lane !== null) this.ofBatch.add(lane)
        this.change({ batch })
      }),
    ]
    void this.look()
    const timer = setInterval(() => void this.watch(), WATCH_MS)
    return () => {
      clearInterval(timer)
      for (const end of ends) end()
    }
  }

  private async look(): Promise<void> {
    try {
      const [{ lanes, batch }, { sessions }] = await Promise.all([
        this.client.call('write.lanes', {}),
        this.client.call('write.interrupted', {}),
      ])
      // What was told meanwhile is newer.
      const known = new Set(this.snapshot.lanes.map(lane => lane.lane))
      this.change({
        lanes: [...lanes.filter(lane => !known.has(lane.lane)), ...this.snapshot.lanes],
        interrupted: sessions,
        batch: this.snapshot.batch ?? batch ?? undefined,
      })
    } catch (error) {
      this.change({ problems: problemsOf(error) })
    }
  }

  /** While something is written: is the machine still there, and does it still know of all that is live? */
  async watch(): Promise<void> {
    if (!this.snapshot.lanes.some(isLive)) return
    try {
      const { lanes } = await this.client.call('write.lanes', {})
      const known = new Set(lanes.map(lane => lane.lane))
      const left = this.snapshot.lanes.filter(lane => !isLive(lane) || known.has(lane.lane))
      if (this.snapshot.isLost) this.change({ isLost: false })
      if (left.length === this.snapshot.lanes.length) return
      // Another program answers: what was live broke off with the one before it.
      this.change({ lanes: left })
      await this.look()
    } catch {
      if (!this.snapshot.isLost) this.change({ isLost: true })
    }
  }

  private told(lane: LaneReport): void {
    const { lanes } = this.snapshot
    const at = lanes.findIndex(one => one.lane === lane.lane)
    this.change({ lanes: at < 0 ? [...lanes, lane] : lanes.with(at, lane) })
    // The tally has those that went well; on the screen each port of a batch has its last one.
    if (at < 0) for (const one of lanes) if (this.isPast(one, lane)) this.dismiss(one.lane)
  }

  private isPast({ lane, port, end }: LaneReport, next: LaneReport): boolean {
    const isWell = end?.outcome === 'updated' || end?.outcome === 'unproven'
    return isWell && this.ofBatch.has(lane) && port.key === next.port.key
  }

  draftOf(receiverId: string): Draft {
    return this.snapshot.drafts.get(receiverId) ?? freshDraft(this.memory.getItem(KEPT))
  }

  /** Whether somebody has set something for this very receiver. */
  hasDraft(receiverId: string): boolean {
    return this.snapshot.drafts.has(receiverId)
  }

  setDraft(receiverId: string, draft: Draft): void {
    const { port, ports, wiring, dialect, baud } = draft
    this.memory.setItem(KEPT, JSON.stringify({ port, ports, wiring, dialect, baud }))
    this.change({ drafts: new Map(this.snapshot.drafts).set(receiverId, draft) })
  }

  /** Rejects with problems where something does not hold: then nothing was sent. */
  async start(plan: WritePlanInput, draft: Draft): Promise<void> {
    const { cautions, recovers } = draft
    await this.client.call('write.start', { plan, cautions: cautions.answers, recovers })
    // What was seen was seen for this write alone.
    const answered = {
      ...draft,
      cautions: { key: '', answers: {} },
      recovers: undefined,
      open: 'none' as const,
    }
    this.setDraft(plan.receiverId, answered)
    if (recovers !== undefined) {
      const interrupted = this.snapshot.interrupted.filter(one => one.sessionId !== recovers)
      this.change({ interrupted, recovery: undefined })
    }
  }

  async startBatch(plan: WritePlanInput, draft: Draft): Promise<void> {
    const { ports, cautions } = draft
    const asked = { plan, ports: [...ports], cautions: cautions.answers }
    this.change({ batch: (await this.client.call('write.batchStart', asked)).batch })
    this.setDraft(plan.receiverId, { ...draft, cautions: { key: '', answers: {} }, open: 'none' })
  }

  stopBatch(): void {
    this.attempt(async () => {
      this.change({ batch: (await this.client.call('write.batchStop', {})).batch })
    })
  }

  /** Takes the tally of a batch that has been stopped off the screen. */
  closeBatch(): void {
    if (this.snapshot.batch?.running !== true) this.change({ batch: undefined })
  }

  cancel(lane: string): void {
    this.attempt(() => this.client.call('write.cancel', { lane }))
  }

  dismiss(lane: string): void {
    this.attempt(async () => {
      await this.client.call('write.dismiss', { lane })
      const { lanes, ticks } = this.snapshot
      this.change({ lanes: lanes.filter(one => one.lane !== lane) })
      const gone = lanes.find(one => one.lane === lane)
      if (gone !== undefined && ticks.has(ticksKey(gone))) this.keepTicks(withoutTicks(ticks, ticksKey(gone)))
    })
  }

  /** Something of what is to be done again before it flies was done, or was not after all; by its place there. */
  tick(lane: LaneReport, place: number, isDone: boolean): void {
    this.keepTicks(withTick(this.snapshot.ticks, ticksKey(lane), place, isDone))
  }

  private keepTicks(ticks: Ticks): void {
    this.memory.setItem(KEPT_TICKS, writeTicks(ticks))
    this.change({ ticks })
  }

  /** Somebody has seen to it without another write. */
  settle(sessionId: string): void {
    this.attempt(async () => {
      await this.client.call('write.settle', { sessionId })
      const { interrupted, recovery } = this.snapshot
      this.change({
        interrupted: interrupted.filter(one => one.sessionId !== sessionId),
        recovery: recovery?.sessionId === sessionId ? undefined : recovery,
      })
    })
  }

  /** Asks how a session that failed or broke off is put right. */
  recover(sessionId: string, stateWords: string): void {
    this.attempt(async () => {
      const found = await this.client.call('write.recover', { sessionId })
      this.change({ recovery: { ...found, sessionId, stateWords } })
    })
  }

  /** Hands a session out as one file, which another bench can carry out again without hardware. */
  exportSession(sessionId: string): void {
    this.attempt(async () => {
      const { fileName, text } = await this.client.call('log.export', { id: sessionId })
      saveText(fileName, text)
    })
  }

  prefer(way: WayId): void {
    this.memory.setItem(KEPT_WAY, way)
    this.change({ way })
  }

  edit(editing: Editing | undefined): void {
    this.change({ editing })
  }

  /** A part of what is being edited, typed or taken from a file that took its time to be read. */
  type(part: Partial<Pick<Editing, 'text' | 'exchange'>>): void {
    const { editing } = this.snapshot
    if (editing !== undefined) this.edit({ ...editing, ...part })
  }

  closeRecovery(): void {
    this.change({ recovery: undefined })
  }

  clearProblems(): void {
    this.change({ problems: [] })
  }

  private attempt(act: () => Promise<unknown>): void {
    act().catch(error => this.change({ problems: problemsOf(error) }))
  }
}

export const isLive = (lane: LaneReport): boolean => lane.end === null
