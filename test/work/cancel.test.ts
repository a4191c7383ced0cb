import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { projectRoot } from '../../main/scripts/build.mjs'
import { WorkerPool } from '../../main/work/pool.ts'
import { SIMULATING } from '../../main/work/pool-words.ts'
import { type During, simulateAside, simulateHere } from '../../main/work/simulate.ts'
import type { SimulationTask } from '../../main/work/simulations.ts'
import { watcher } from '../../main/work/watcher.ts'
import { StoppedError } from '../../main/work/worker-loop.ts'
import { sourceScript } from '../../main/work/worker-script.ts'
import { contract } from '../../shared/api/contract.ts'
import { type RehearsalMoment, rehearsalMomentSchema } from '../../shared/api/rehearse.ts'
import { makeEvents } from '../../shared/api/serve.ts'
import { testFolder } from '../support/folder.ts'
import { SLOW_SEED } from '../support/slow-seed.ts'
import { smallRequest } from '../support/small-bench.ts'

const support = (name: string) => sourceScript(join(projectRoot, 'test', 'support', name))
const slow = () => ({ ...smallRequest(), seed: SLOW_SEED })
const STOPPED = {
  ok: false,
  problems: [{ code: 'work.stopped', message: expect.stringMatching(/It sent nothing/) }],
}

/** One worker that simulates for real, slowly where it is asked to, and counts how often it was started. */
function slowPool() {
  const started = new Int32Array(new SharedArrayBuffer(4))
  const script = support('slow-simulator.ts')
  const pool = new WorkerPool<SimulationTask>({
    script: { ...script, workerData: { ...script.workerData, started } },
    ...{ size: 1, graceMs: 20_000, words: SIMULATING },
  })
  return { pool, simulate: simulateAside(pool), starts: () => Atomics.load(started, 0) }
}

/** Aborts with the first thing that is told of the rehearsal. */
function stopAtOnce(moments: RehearsalMoment[]): During {
  const abort = new AbortController()
  return {
    signal: abort.signal,
    onMoment: moment => {
      moments.push(moment)
      abort.abort()
    },
  }
}

let pool: Pick<WorkerPool<SimulationTask>, 'close'> | undefined
afterEach(() => pool?.close())

describe('a rehearsal that is given up', () => {
  it('stops in the middle, and the same worker goes on with what waits', async () => {
    const made = slowPool()
    pool = made.pool
    const moments: RehearsalMoment[] = []
    const [given, next] = await Promise.all([
      made.simulate('rehearse', slow(), stopAtOnce(moments)),
      made.simulate('rehearse', smallRequest()),
    ])
    expect(given).toMatchObject(STOPPED)
    expect(rehearsalMomentSchema.parse(moments[0])).toMatchObject({ part: 'update' })
    const here = await simulateHere()('rehearse', smallRequest())
    expect(next.ok && here.ok && next.value.flash).toEqual(here.ok && here.value.flash)
    expect(made.starts()).toBe(1)
  })

  it('leaves the queue at once where its turn has not come, and only it', async () => {
    const made = slowPool()
    pool = made.pool
    const first = new AbortController()
    const second = new AbortController()
    const order: string[] = []
    const ask = async (name: string, signal?: AbortSignal) => {
      const asked = name === 'first' ? slow() : smallRequest()
      const done = await made.simulate('rehearse', asked, { ...(signal ? { signal } : {}) })
      order.push(name)
      return done
    }
    const all = [ask('first', first.signal), ask('second', second.signal), ask('third')]
    second.abort()
    expect(await all[1]).toMatchObject(STOPPED)
    expect(order).toEqual(['second'])
    first.abort()
    expect(await all[0]).toMatchObject(STOPPED)
    expect(await all[2]).toMatchObject({ ok: true })
    expect(made.starts()).toBe(1)
  })

  it('does not throw a worker away that is still loading', async () => {
    const made = slowPool()
    pool = made.pool
    const abort = new AbortController()
    const given = made.simulate('rehearse', slow(), { signal: abort.signal })
    // After the turn has been given and the worker been made, long before it can be ready.
    await Promise.resolve()
    abort.abort()
    expect(await given).toMatchObject(STOPPED)
    expect(await made.simulate('rehearse', smallRequest())).toMatchObject({ ok: true })
    expect(made.starts()).toBe(1)
  })

  it('ends a worker that does not stop by itself; what waits for it gets another one', async () => {
    const stubborn = new WorkerPool<SimulationTask>({
      script: support('stubborn-worker.ts'),
      ...{ size: 1, graceMs: 50, words: SIMULATING },
    })
    pool = stubborn
    const simulate = simulateAside(stubborn)
    await simulate('rehearse', { ...smallRequest(), receiverId: 'sound' })
    const abort = new AbortController()
    const hanging = simulate('rehearse', { ...slow(), receiverId: 'hang' }, { signal: abort.signal })
    const waiting = simulate('rehearse', { ...smallRequest(), receiverId: 'sound' })
    await Promise.resolve()
    abort.abort()
    expect(await hanging).toMatchObject(STOPPED)
    expect(await waiting).toBe('read sound')
  })
})

describe('what the window can ask', () => {
  it('is told how far its rehearsal is, and cancels that one and no other', async () => {
    const folder = testFolder('cancel')
    const events = makeEvents(contract)
    const made = slowPool()
    pool = made.pool
    const env = { hostKind: 'browser', dataFolder: folder.path, events, simulate: made.simulate } as const
    const handlers = createHandlers(env)
    const told: string[] = []
    const stopListening = events.listen((event, data) => {
      if (event !== 'rehearse.progress') return
      told.push((data as { readonly runId: string }).runId)
      void handlers['rehearse.cancel']({ runId: 'nobody' })
      if (told.length === 3) void handlers['rehearse.cancel']({ runId: 'mine' })
    })
    await expect(handlers['rehearse.run']({ ...slow(), runId: 'mine' })).rejects.toMatchObject({
      problems: [{ code: 'work.stopped' }],
    })
    // Nothing more is told of what was cancelled.
    expect(told).toEqual(['mine', 'mine', 'mine'])
    const again = await handlers['rehearse.run']({ ...smallRequest(), runId: 'mine' })
    expect(again.report.outcome).toBe('updated')
    stopListening()
    folder.remove()
  })
})

describe('whoever looks after a rehearsal in the worker', () => {
  const moment = { simulatedMs: 12.5, standing: { phase: 'write', attempt: 2, done: 3, total: 9 } } as const

  it('notes ten times a second at most', () => {
    const notes: unknown[] = []
    let nowMs = 0
    const watch = watcher({ goOn: () => {}, note: note => notes.push(note) }, () => nowMs)
    for (nowMs = 0; nowMs < 1000; nowMs += 7) watch('update', moment)
    expect(notes).toHaveLength(9)
    expect(notes[0]).toEqual({ part: 'update', ...moment })
  })

  it('breaks it off where nobody wants it, before it notes anything', () => {
    const goOn = () => {
      throw new StoppedError()
    }
    const note = () => expect.fail('noted')
    const watch = watcher({ goOn, note }, () => 1e9)
    expect(() => watch('recovery', { simulatedMs: 0, standing: undefined })).toThrow(StoppedError)
  })
})
