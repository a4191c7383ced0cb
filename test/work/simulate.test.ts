import { join } from 'node:path'
import { afterAll, afterEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { projectRoot } from '../../main/scripts/build.mjs'
import { WorkerPool } from '../../main/work/pool.ts'
import { SIMULATING } from '../../main/work/pool-words.ts'
import { simulateAside, simulateHere, simulatorPool } from '../../main/work/simulate.ts'
import type { SimulationAsks, SimulationKind, SimulationTask } from '../../main/work/simulations.ts'
import { traceBuffers } from '../../main/work/trace-buffers.ts'
import { sourceScript } from '../../main/work/worker-script.ts'
import { contract } from '../../shared/api/contract.ts'
import { encodeEnvelope } from '../../shared/api/envelope.ts'
import { makeEvents } from '../../shared/api/serve.ts'
import { builtInChosen, type Chosen, chosenData } from '../../shared/bench-run/chosen.ts'
import { planToJson } from '../../shared/bench-run/plan-json.ts'
import { practiceRequestSchema } from '../../shared/diagnose/exercise.ts'
import { diagnosisRequestSchema } from '../../shared/diagnose/report.ts'
import { readDialect, writeDialect } from '../../shared/dialect/schema.ts'
import { unpackTrace } from '../../shared/sim/pack.ts'
import { testFolder } from '../support/folder.ts'
import { readModules } from '../support/modules.ts'
import { serialPlan } from '../support/serial-bench.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'
import { writePlan } from '../support/write-plan.ts'

const pool = simulatorPool(error => expect.fail(String(error)))
const aside = simulateAside(pool)
const here = simulateHere()
afterAll(() => pool.close())

const chosenBy = (name: string): Chosen => {
  const chosen = builtInChosen(name)
  if (chosen === undefined) throw new Error(`no dialect ${name}`)
  return chosen
}

/** A dialect as somebody may have it in a file, read as the data folder reads it. */
function ofFile(): Chosen {
  const dart = chosenBy('tamsin-dart')
  if (dart.kind !== 'data') throw new Error('the bus is no data')
  const read = readDialect(writeDialect({ ...dart.dialect, name: 'my-loader', title: 'Mine' }), 'mine')
  if (!read.ok) throw new Error(read.problems[0].message)
  return chosenData(read.value)
}

/** As it would leave for the window, octet by octet; how long it took on the clock is not part of it. */
function octetsOf(reply: object): Uint8Array {
  const { value } = reply as { readonly value?: { readonly report?: object } }
  const timeless = value?.report
    ? { ...reply, value: { ...value, report: { ...value.report, wallMs: 0 } } }
    : reply
  return encodeEnvelope({ id: 1, ok: true, reply: timeless })
}

async function bothWays<K extends SimulationKind>(kind: K, ask: SimulationAsks[K]) {
  const [there, same] = [await aside(kind, ask), await here(kind, ask)]
  expect(octetsOf(there)).toEqual(octetsOf(same))
  return there
}

describe('what a worker simulates', () => {
  it.each(['preflash-bus', 'st-an3155', 'xmodem-crc', 'xmodem-1k', 'ymodem', 'tamsin-dart', 'tamsin-twig'])(
    'is the very same, octet by octet: a write by %s',
    async dialect => {
      const plan = dialect === 'preflash-bus' ? writePlan() : serialPlan(dialect)
      const ask = { plan, chosen: chosenBy(dialect), seed: 7, latencyMs: 16 }
      const done = await bothWays('rehearse-write', ask)
      if (!done.ok) throw new Error(done.problems[0].message)
      expect(done.value.rehearsed.steps.length).toBeGreaterThan(2)
      expect(unpackTrace(done.value.trace).lanes.some(lane => lane.octets.length > 1000)).toBe(true)
    },
  )

  it('is the same by a dialect out of a file, which is handed over as data', async () => {
    const chosen = ofFile()
    const plan = serialPlan(chosen.name)
    const done = await bothWays('rehearse-write', { plan, chosen, seed: 1, latencyMs: 0 })
    expect(done).toMatchObject({ ok: true, value: { rehearsed: { steps: expect.anything() } } })
  })

  it('is the same for a session of the radio, its runbook, a diagnosis and an exercise', async () => {
    const request = smallRequest()
    const session = await bothWays('rehearse', request)
    expect(session).toMatchObject({ ok: true, value: { report: { outcome: 'updated' } } })
    const runbook = await bothWays('runbook', { request, asked: request })
    expect(runbook).toMatchObject({ ok: true, value: { recovery: expect.anything() } })
    const asked = { bench: smallBench(), receiverId: 'wren-trainer', symptom: 'stops' }
    const diagnosis = await bothWays('diagnose', diagnosisRequestSchema.parse(asked))
    expect(diagnosis).toMatchObject({ ok: true, value: { next: { do: 'look' } } })
    const exercise = practiceRequestSchema.parse({ seed: 3, faults: 'one', lies: false, steps: [] })
    expect(await bothWays('practise', exercise)).toMatchObject({ ok: true, value: { end: null } })
  })

  it('is the same for a recovery, and says what is wrong with a plan', async () => {
    const plan = planToJson(writePlan(), chosenBy('preflash-bus'))
    const events = [{ kind: 'effect', effect: 'write', offset: 2048, text: 'Write' }] as const
    const found = await bothWays('recover', { plan, events })
    expect(found).toMatchObject({ ok: true, value: { found: { ok: true } } })
    expect(await bothWays('recover', { plan: null, events })).toMatchObject({
      value: { plan: null, found: { ok: false, problems: [{ code: 'write.no-plan' }] } },
    })
    const nobody = writePlan({ receiverId: 'nobody' })
    const ask = { plan: nobody, chosen: chosenBy('preflash-bus'), seed: 1, latencyMs: 0 }
    expect(await bothWays('rehearse-write', ask)).toMatchObject({
      ok: false,
      problems: [{ code: 'bench.no-receiver' }],
    })
  })
})

describe('the columns of a trace', () => {
  it('are handed over, not copied: each of them once, and nothing else', async () => {
    const done = await here('rehearse', smallRequest())
    if (!done.ok) throw new Error(done.problems[0].message)
    const { trace, flash } = done.value
    const buffers = traceBuffers(trace)
    expect(new Set(buffers).size).toBe(buffers.length)
    const own = trace.lanes.flatMap(lane => [lane.octets, lane.startNs]).map(column => column.buffer)
    expect(buffers).toEqual(expect.arrayContaining(own))
    expect(buffers).not.toContain(flash.buffer)
    // Each column has its buffer to itself, so that nothing is handed over beside it.
    const columns = trace.lanes.flatMap(lane => [lane.octets, lane.startNs, lane.flags])
    expect(columns.every(({ byteLength, buffer }) => byteLength === buffer.byteLength)).toBe(true)
  })
})

describe('a worker that does not come to an end of it', () => {
  const script = sourceScript(join(projectRoot, 'test', 'support', 'stubborn-worker.ts'))
  let stubborn: WorkerPool<SimulationTask>
  afterEach(() => stubborn.close())
  const ask = (receiverId: string) =>
    diagnosisRequestSchema.parse({ bench: smallBench(), receiverId, symptom: 'stops' })

  it.each([
    ['hang', 'work.timeout', { timeoutMs: 300 }],
    ['throw', 'work.broken', {}],
    ['exit', 'work.broken', {}],
    ['hog', 'work.memory', { heapMib: 32 }],
  ])('%s: is ended and answered in words, and the next one gets another worker', async (what, code, more) => {
    const reported: string[] = []
    const report = (error: unknown) => void reported.push(String(error))
    stubborn = new WorkerPool<SimulationTask>({ script, size: 1, words: SIMULATING, report, ...more })
    const simulate = simulateAside(stubborn)
    const [bad, good] = await Promise.all([
      simulate('diagnose', ask(what)),
      simulate('diagnose', ask('sound')),
    ])
    const message = expect.stringMatching(/It sent nothing to any receiver/)
    expect(bad).toMatchObject({ ok: false, problems: [{ code, message }] })
    expect(good).toBe('read sound')
    expect(reported).toEqual(what === 'throw' ? ['RangeError: a reader that throws'] : reported)
  })
})

describe('the thread that writes', () => {
  it('goes on while a rehearsal runs', async () => {
    const folder = testFolder('aside')
    const env = { hostKind: 'browser', dataFolder: folder.path, events: makeEvents(contract) } as const
    const handlers = createHandlers(env)
    let turns = 0
    let isOver = false
    const turn = () => {
      turns++
      if (!isOver) setImmediate(turn)
    }
    setImmediate(turn)
    const reply = await handlers['rehearse.run'](smallRequest())
    isOver = true
    expect(reply.report.outcome).toBe('updated')
    expect(turns).toBeGreaterThan(1)
    folder.remove()
  })

  it('has nothing at hand with which to simulate', () => {
    const simulator = [
      'shared/rehearse/rehearse.ts',
      'shared/bench-run/rehearse-write.ts',
      'shared/bench-run/recovery.ts',
      'shared/diagnose/diagnose.ts',
      'shared/diagnose/practise.ts',
      'shared/runbook/recoveries.ts',
    ]
    const who = readModules('main').filter(({ imports }) => imports.some(i => simulator.includes(i)))
    const folders = new Set(who.map(({ path }) => path.split('/').slice(0, 2).join('/')))
    expect([...folders].sort()).toEqual(['main/cli', 'main/work'])
  })
})
