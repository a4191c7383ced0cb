import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createHandlers } from '../../main/handlers/index.ts'
import { Journal } from '../../main/store/journal.ts'
import { simulateHere } from '../../main/work/simulate.ts'
import { contract } from '../../shared/api/contract.ts'
import type { RequestOf } from '../../shared/api/define.ts'
import { makeEvents, serveContract } from '../../shared/api/serve.ts'
import { withUnit } from '../../shared/fit/rule.ts'
import { planKey } from '../../shared/runbook/plan-key.ts'
import type { Runbook } from '../../shared/runbook/schema.ts'
import type { RunAnswer } from '../../shared/runbook/state.ts'
import { Run, runbookOf } from '../runbook/fixture.ts'
import { testFolder } from '../support/folder.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

type Contract = typeof contract
let folder: ReturnType<typeof testFolder>
beforeEach(() => {
  folder = testFolder('guide')
})
afterEach(() => folder.remove())

/** A program on this data folder. */
function program() {
  const events = makeEvents(contract)
  const env = { hostKind: 'browser', dataFolder: folder.path, events, simulate: simulateHere() } as const
  const serve = serveContract(contract, createHandlers(env), error => expect.fail(String(error)))
  return async <M extends keyof Contract['methods'] & string>(method: M, request: RequestOf<Contract, M>) => {
    const outcome = await serve(method, request)
    if (!outcome.ok) throw new Error(outcome.problems.map(p => p.code).join())
    return contract.methods[method].reply.parse(outcome.reply) as never
  }
}

const runbook = runbookOf(smallRequest())
const finished = (): RunAnswer[] => {
  const run = new Run(runbook)
  while (run.state.at !== 'ended') run.say('saw')
  return run.answers
}

describe('guide.plan', () => {
  it('makes the runbook of a rehearsal that went well, with recoveries that were rehearsed', async () => {
    const call = program()
    const made: { runbook: Runbook } = await call('guide.plan', smallRequest())
    expect(made.runbook).toEqual(runbook)
    expect(made.runbook.key).toBe(planKey(smallRequest()))
  })

  it('refuses one that did not go well, one with faults, and one of nobody', async () => {
    const call = program()
    const flat = withUnit(smallBench(), 'radios', 'tarn', { batteryVolts: 6.5 })
    await expect(call('guide.plan', smallRequest({ bench: flat }))).rejects.toThrow('runbook.not-updated')
    const faulty = smallRequest({ faults: [{ name: 'line-noise' }] })
    await expect(call('guide.plan', faulty)).rejects.toThrow('runbook.with-faults')
    await expect(call('guide.plan', smallRequest({ receiverId: 'nobody' }))).rejects.toThrow(
      'bench.no-receiver',
    )
  })
})

describe('a guided run in the logbook', () => {
  const begin = async (call: ReturnType<typeof program>) =>
    (await call('guide.begin', { runbook, benchName: 'Marsh Lane club' })) as {
      id: string
      beganAtMs: number
    }

  it('is written down step by step, with what was seen, and ends with what became of the receiver', async () => {
    const call = program()
    const { id } = await begin(call)
    const answers = new Run(runbook).sawUntil('watch').otherBy(/stopped on the way/).answers
    await call('guide.append', { id, from: 0, answers })
    const rest = new Run(runbook)
    rest.answers.push(...answers)
    while (rest.state.at !== 'ended') rest.say('saw')
    await call('guide.append', { id, from: answers.length, answers: rest.answers.slice(answers.length) })
    expect(await call('guide.end', { id })).toEqual({ receiver: 'runs-new', isChecked: true })

    const journal = await Journal.open(folder.path)
    const { session, events } = journal.session(id)
    journal.close()
    expect(session).toMatchObject({
      kind: 'guided',
      receiverId: 'wren-trainer',
      nickname: 'Wren in the club trainer',
      typeId: 'aldwick-wren-6',
      benchName: 'Marsh Lane club',
      image: { version: '2.4.0' },
      ending: 'done',
      outcome: 'updated',
    })
    const said = events.flatMap(({ event }) =>
      event.kind === 'answer' ? [`${event.to}: ${event.said}`] : [],
    )
    expect(said).toHaveLength(rest.answers.length)
    expect(said).toContain('watch: other 0')
    expect(said).toContain('second-watch: saw')
    expect(events.at(-1)?.event).toMatchObject({ kind: 'state', state: 'runs', version: '2.4.0' })
    expect(await call('guide.open', {})).toEqual({ run: null })
  })

  it('takes nothing twice, and nothing with a gap', async () => {
    const call = program()
    const { id } = await begin(call)
    const { answers } = new Run(runbook).sawUntil('sensors-off')
    expect(await call('guide.append', { id, from: 0, answers })).toEqual({ count: 3 })
    expect(await call('guide.append', { id, from: 0, answers })).toEqual({ count: 3 })
    expect(await call('guide.append', { id, from: 2, answers: answers.slice(2) })).toEqual({ count: 3 })
    await expect(call('guide.append', { id, from: 5, answers })).rejects.toThrow('guide.gap')
    // Another window, which was told of the first answer and gave others since.
    const other = new Run(runbook).say('saw').say('other').say('again').answers
    await expect(call('guide.append', { id, from: 1, answers: other.slice(1) })).rejects.toThrow(
      'guide.elsewhere',
    )
    const { run } = (await call('guide.open', {})) as { run: { answers: RunAnswer[] } }
    expect(run.answers.map(a => a.step)).toEqual(['drive', 'radio-charged', 'supply'])
  })

  it('is offered again by the program that began it, at the very step', async () => {
    const call = program()
    expect(await call('guide.open', {})).toEqual({ run: null })
    const { id, beganAtMs } = await begin(call)
    const { answers } = new Run(runbook).sawUntil('watch').say('unsure')
    await call('guide.append', { id, from: 0, answers })
    const { run } = (await call('guide.open', {})) as { run: { answers: RunAnswer[] } }
    expect(run).toMatchObject({ id, beganAtMs, benchName: 'Marsh Lane club', runbook })
    expect(run.answers.map(({ step, said }) => [step, said])).toEqual(
      answers.map(({ step, said }) => [step, said]),
    )
  })

  it('is not taken by a second program while the first is there', async () => {
    await begin(program())
    // The same process owns it; but it was begun by other handlers, so it is nobody's to take here.
    expect(await program()('guide.open', {})).toEqual({ run: null })
  })

  it('is offered by the next program once the one that began it is gone', async () => {
    const gone = await Journal.open(folder.path, { owner: () => ({ pid: 2 ** 22 + 1, started: 'long ago' }) })
    const id = gone.begin({ kind: 'guided', plan: runbook })
    gone.append(id, { kind: 'answer', to: 'drive', said: 'saw' })
    gone.close()
    const { run } = (await program()('guide.open', {})) as { run: { id: string; answers: RunAnswer[] } }
    expect(run).toMatchObject({ id, answers: [{ step: 'drive', said: 'saw' }] })
  })

  it('is passed over where it was begun by a program with other runbooks', async () => {
    const gone = await Journal.open(folder.path, { owner: () => ({ pid: 2 ** 22 + 1, started: 'long ago' }) })
    gone.begin({ kind: 'guided', plan: { format: 'another' } })
    gone.close()
    expect(await program()('guide.open', {})).toEqual({ run: null })
  })

  it('does not end before its answers have ended it, and takes nothing more then', async () => {
    const call = program()
    const { id } = await begin(call)
    await expect(call('guide.end', { id })).rejects.toThrow('guide.not-ended')
    await call('guide.append', { id, from: 0, answers: finished() })
    const ended = await call('guide.end', { id })
    expect(await call('guide.end', { id })).toEqual(ended)
    const run = new Run(runbook).say('saw').answers
    await expect(call('guide.append', { id, from: 17, answers: run })).rejects.toThrow('logbook.ended')
    await expect(call('guide.end', { id: 'nobody' })).rejects.toThrow('logbook.no-session')
  })

  it.each([
    ['sensors-off', undefined, 'cancelled', 'unchanged', 'as-before'],
    ['watch', undefined, 'failed', null, 'not-known'],
    ['second-pause', /stopped/, 'failed', null, 'partly-written'],
    ['after-range', undefined, 'done', 'updated', 'runs-new'],
  ] as const)('stopped at %s it says what it left', async (step, other, ending, outcome, receiver) => {
    const call = program()
    const { id } = await begin(call)
    const run = new Run(runbook)
    if (other) run.sawUntil('watch').otherBy(other)
    run.sawUntil(step).say('stop').say('end')
    await call('guide.append', { id, from: 0, answers: run.answers })
    expect(await call('guide.end', { id })).toEqual({ receiver, isChecked: false })
    const { session } = (await call('log.session', { id })) as { session: object }
    expect(session).toMatchObject({ ending, outcome })
  })
})
