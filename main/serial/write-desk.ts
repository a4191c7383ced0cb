import { need, ProblemsError } from '../../shared/api/serve.ts'
import type { CautionAnswers, Rehearsed } from '../../shared/bench-run/check.ts'
import type { Chosen } from '../../shared/bench-run/chosen.ts'
import { type DirectRecovery, directRecovery } from '../../shared/bench-run/direct-recovery.ts'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'
import { planFromJson, planToJson } from '../../shared/bench-run/plan-json.ts'
import {
  checkWrite,
  type PortFact,
  problemsOf,
  type WriteCheck,
} from '../../shared/bench-run/preconditions.ts'
import { type DirectPlan, type PlannedWrite, planWrite } from '../../shared/bench-run/ready.ts'
import { type StateKnown, stateOf } from '../../shared/bench-run/state-of.ts'
import { afterwardsFor } from '../../shared/fit/afterwards.ts'
import { situationOf } from '../../shared/fit/situation.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'
import type { SessionHead } from '../../shared/logbook/session.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import type { DialectFiles } from '../store/dialect-files.ts'
import type { Journal } from '../store/journal.ts'
import type { Logbook } from '../store/logbook.ts'
import type { Simulate } from '../work/simulate.ts'
import type { SimulationReplies } from '../work/simulations.ts'
import { Lanes, type LanesEnv } from './lanes.ts'
import type { Ports } from './list.ts'
import { mayRecover } from './may-recover.ts'
import { readPlace } from './port.ts'
import type { WriteWish } from './write-session.ts'

/** Where writes are checked, rehearsed, started and put right: for the window and for the command line alike. */

export interface DeskEnv extends Omit<LanesEnv, 'journal'> {
  readonly logbook: Logbook
  readonly dialects: Pick<DialectFiles, 'find'>
  readonly ports: Pick<Ports, 'find'>
  /** An image of the library is read. */
  readonly withFile: (image: WritePlan['image']) => Promise<WritePlan['image']>
  /** Aside where writes are running: what is worked out in their thread holds them up. */
  readonly simulate: Simulate
}

export interface Interrupted {
  readonly head: SessionHead
  readonly known: StateKnown
}

/** Rehearsals are kept by plan; of more than so many the oldest go. */
const MOST_REHEARSED = 200

export class WriteDesk {
  readonly lanes = new Lanes()
  readonly #env: DeskEnv
  readonly #rehearsed = new Map<string, Rehearsed>()

  constructor(env: DeskEnv) {
    this.#env = env
  }

  async check(plan: WritePlan, answers: CautionAnswers): Promise<WriteCheck> {
    const whole = await this.#whole(plan)
    return checkWrite({
      plan: whole,
      chosen: await this.#env.dialects.find(plan.dialect),
      port: (await this.#port(plan.port)).fact,
      answers,
      rehearsed: key => this.#rehearsed.get(key),
    })
  }

  /** @throws ProblemsError where it cannot be rehearsed at all */
  async rehearse(plan: WritePlan, seed: number): Promise<SimulationReplies['rehearse-write']> {
    const chosen = need(await this.#env.dialects.find(plan.dialect))
    const { latencyMs } = await this.#port(plan.port)
    const whole = await this.#whole(plan)
    const done = need(await this.#env.simulate('rehearse-write', { plan: whole, chosen, seed, latencyMs }))
    this.keep(done.rehearsed)
    return done
  }

  keep(rehearsed: Rehearsed): void {
    this.#rehearsed.delete(rehearsed.key)
    this.#rehearsed.set(rehearsed.key, rehearsed)
    for (const oldest of this.#rehearsed.keys()) {
      if (this.#rehearsed.size <= MOST_REHEARSED) break
      this.#rehearsed.delete(oldest)
    }
  }

  /** @throws ProblemsError with what is wrong with the plan */
  async planned(plan: WritePlan): Promise<PlannedWrite> {
    const chosen = need(await this.#env.dialects.find(plan.dialect))
    return need(planWrite(await this.#whole(plan), chosen))
  }

  /**
   * Starts a write: everything is checked again, here and now.
   * @throws ProblemsError with a problem `write.…` for each precondition that does not hold
   */
  async start(
    plan: WritePlan,
    answers: CautionAnswers,
    recovers?: string,
  ): Promise<{ lane: string; ended: Promise<WriteEnding> }> {
    const check = await this.check(plan, answers)
    const { planned } = check
    if (!check.ready || planned === undefined) throw new ProblemsError(problemsOf(check))
    const situation = situationOf(planned.plan.bench, planned.unit.id, 'cable', planned.image.facts)
    return this.startWish({
      ready: planned.ready,
      port: (await this.#port(plan.port)).wish,
      rehearsed: check.rehearsed ?? null,
      planned: planToJson(planned.plan, planned.ready.chosen),
      recovers,
      afterwards: situation ? afterwardsFor(situation) : [],
    })
  }

  /** For a wish whose preconditions somebody else answers for. @throws ProblemError of the logbook, `port.in-use` */
  async startWish(wish: Omit<WriteWish, 'lane'>): Promise<{ lane: string; ended: Promise<WriteEnding> }> {
    const journal = await this.#env.logbook.use(open => open)
    if (wish.recovers !== undefined) mayRecover(journal, wish.recovers, wish.ready.receiver?.id ?? null)
    const started = this.lanes.start(wish, { ...this.#env, journal })
    // Where the logbook takes nothing it has failed by now, and nothing was touched.
    await Promise.race([started.ended, new Promise(resolve => setImmediate(resolve))])
    const ended = started.ended.then(end => this.#seenTo(journal, wish.recovers, end))
    ended.catch(() => {})
    return { lane: started.lane, ended }
  }

  async port(place: string): Promise<WriteWish['port']> {
    return (await this.#port(place)).wish
  }

  /** Sessions whose program went away in the middle of them, with what their receivers hold. */
  interrupted(): Promise<Interrupted[]> {
    return this.#env.logbook.look(
      journal =>
        journal
          .interrupted()
          .filter(head => head.kind === 'write')
          .map(head => ({ head, known: stateOf(eventsOf(journal, head.id)) })),
      [],
    )
  }

  /** @throws ProblemError `logbook.no-session`; ProblemsError where it cannot be worked out */
  async recovery(sessionId: string): Promise<SimulationReplies['recover'] & { known: StateKnown }> {
    const { events, plan } = await this.#env.logbook.use(journal => {
      const { session, events: logged } = journal.session(sessionId)
      return { plan: session.plan, events: logged.map(({ event }) => event) }
    })
    return { known: stateOf(events), ...need(await this.#env.simulate('recover', { plan, events })) }
  }

  /**
   * What a session with a device on no bench wrote, and the way back, rehearsed on a device of its dialect.
   * @param change what is to be otherwise this time
   * @throws ProblemError `logbook.no-session`; ProblemsError `write.no-plan` where it has none, or one of a bench
   */
  async directRecovery(
    sessionId: string,
    change: { readonly baud?: number | undefined; readonly echo?: boolean | undefined },
  ): Promise<{ direct: DirectPlan; chosen: Chosen; recovery: DirectRecovery }> {
    const { plan, events } = await this.#env.logbook.use(journal => ({
      plan: journal.session(sessionId).session.plan,
      events: eventsOf(journal, sessionId),
    }))
    const stored = need(planFromJson(plan))
    if (stored.direct === null) throw new ProblemsError([ofABench(sessionId)])
    const { baud = stored.direct.baud, echo = stored.direct.echo } = change
    const direct = { ...stored.direct, baud, echo }
    return { direct, chosen: stored.chosen, recovery: directRecovery(direct, events) }
  }

  /** Somebody has seen to an interrupted session. @throws ProblemError `logbook.no-session`, `logbook.ended` */
  async settle(sessionId: string): Promise<void> {
    await this.#env.logbook.use(journal => journal.end(sessionId, { ending: 'interrupted', outcome: null }))
  }

  #seenTo(journal: Journal, recovers: string | undefined, end: WriteEnding): WriteEnding {
    if (recovers === undefined || (end.outcome !== 'updated' && end.outcome !== 'unproven')) return end
    try {
      journal.end(recovers, { ending: 'interrupted', outcome: null })
    } catch (error) {
      // It was seen to already, by somebody else.
      if (!(error instanceof ProblemError)) throw error
    }
    return end
  }

  async #whole(plan: WritePlan): Promise<WritePlan> {
    return { ...plan, image: await this.#env.withFile(plan.image) }
  }

  async #port(place: string): Promise<{ fact: PortFact; wish: WriteWish['port']; latencyMs: number }> {
    const info = await this.#env.ports.find(place)
    const at = need(readPlace(info?.place ?? place))
    const label = info?.name ?? info?.place ?? place
    const live = this.lanes
      .reports()
      .some(lane => lane.end === null && lane.port.key === (info?.place ?? place))
    const wish = {
      ...{ key: info?.place ?? place, label, place: at },
      ...(info?.usb ? { vendorId: info.usb.vendorId } : {}),
    }
    if (info === undefined)
      return {
        latencyMs: 0,
        wish,
        fact: {
          ...{ state: 'absent', label, text: `There is no port ${place} now.` },
          remedy: 'Plug the adapter in, or add the port to the list.',
        },
      }
    const busy = live ? { state: 'in-use' as const, stateText: 'a write is running on it' } : {}
    const { state, stateText, remedy, latencyMs } = { ...info, ...busy }
    return { wish, latencyMs, fact: { state, label, text: `${label}: ${stateText}.`, remedy } }
  }
}

const ofABench = (sessionId: string): Problem => ({
  code: 'write.recovers',
  field: 'recovers',
  message: `The session ${sessionId} was about a receiver of a bench, whose wiring is checked.`,
  remedy: 'Leave --direct out, and name the bench, the receiver, the adapter and the cable.',
})

const eventsOf = (journal: Journal, id: string): LogEvent[] =>
  journal.session(id).events.map(({ event }) => event)
