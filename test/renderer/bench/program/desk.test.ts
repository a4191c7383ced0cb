import { describe, expect, it } from 'vitest'
import type { ProgramClient } from '../../../../renderer/bench/program/client.ts'
import { WriteDesk } from '../../../../renderer/bench/program/desk.ts'
import { planOf } from '../../../../renderer/bench/program/draft.ts'
import { writingWords } from '../../../../renderer/bench/program/live-words.ts'
import type { LaneReport } from '../../../../shared/bench-run/lane.ts'
import { demoBench, demoDefaults } from '../../../../shared/demo/bench.ts'
import { ProblemError } from '../../../../shared/model/problem.ts'
import { ending, lane } from '../../../support/write-lane.ts'

type Answers = Readonly<Record<string, (request: never) => unknown>>

function machine(answers: Answers) {
  const asked: [string, unknown][] = []
  const listeners = new Map<string, (data: never) => void>()
  const client = {
    call: async (method: string, request: never) => {
      asked.push([method, request])
      return answers[method]?.(request) ?? {}
    },
    on: (event: string, listen: (data: never) => void) => {
      listeners.set(event, listen)
      return () => listeners.delete(event)
    },
  } as unknown as ProgramClient
  const kept = new Map<string, string>()
  const memory = {
    getItem: (name: string) => kept.get(name) ?? null,
    setItem: (name: string, value: string) => void kept.set(name, value),
  }
  const tell = (event: string, data: unknown) => listeners.get(event)?.(data as never)
  return { desk: new WriteDesk(client, memory), asked, tell, listeners, memory, client }
}
const quiet = {
  'write.lanes': () => ({ lanes: [], batch: null }),
  'write.interrupted': () => ({ sessions: [] }),
}
const settled = () => new Promise(resolve => setTimeout(resolve))
const chosen = {
  port: '/dev/ttyUSB0',
  wiring: { adapterId: 'bench-programmer', cableId: 'programmer-cable' },
  dialect: 'preflash-bus',
}

describe('the writes of the window', () => {
  it('keeps each lane at its place as it goes on, and stops listening when told to', () => {
    const { desk, tell, listeners } = machine(quiet)
    const end = desk.listen()
    for (const name of ['lane-1', 'lane-2']) tell('write.lane', lane({ lane: name }))
    tell('write.lane', lane({ lane: 'lane-1', done: 7 }))
    expect(desk.get().lanes.map(l => [l.lane, l.done])).toEqual([
      ['lane-1', 7],
      ['lane-2', 0],
    ])
    end()
    expect(listeners.size).toBe(0)
  })

  it('does not let an older list go before what was told meanwhile', async () => {
    let answer: (lanes: LaneReport[]) => void = () => {}
    const late = new Promise<LaneReport[]>(resolve => {
      answer = resolve
    })
    const { desk, tell } = machine({
      'write.lanes': async () => ({ lanes: await late, batch: null }),
      'write.interrupted': () => ({ sessions: [] }),
    })
    desk.listen()
    tell('write.lane', lane({ done: 9 }))
    answer([lane({ done: 1 }), lane({ lane: 'lane-0', end: ending() })])
    await settled()
    expect(desk.get().lanes.map(l => [l.lane, l.done])).toEqual([
      ['lane-0', 0],
      ['lane-1', 9],
    ])
  })

  it('names every port that something real is written through, and nothing once all have ended', () => {
    const two = [lane(), lane({ lane: 'lane-2', port: { key: 'b', label: 'Blue one' }, receiver: null })]
    expect(writingWords({ lanes: two })).toBe(
      'writing to Wren in the trainer through Red one, a receiver through Blue one',
    )
    const third = { ...two[0], lane: 'lane-9', port: { key: 'c', label: 'Green one' } }
    expect(writingWords({ lanes: [...two, third] })).toBe(
      'writing to 3 receivers through Red one, Blue one, Green one',
    )
    const ended = two.map(l => ({ ...l, end: ending() }))
    expect(writingWords({ lanes: ended })).toBeUndefined()
    // A batch is live between two receivers as well: it writes to the next one by itself.
    const port = { key: 'a', label: 'Red one', waiting: 'Plug a receiver in.', lane: null }
    const batch = { running: true, ports: [port], done: 1, failed: 0, tally: [] }
    expect(writingWords({ lanes: ended, batch })).toBe('a batch writes to what is plugged in at Red one')
    expect(writingWords({ lanes: ended, batch: { ...batch, running: false } })).toBeUndefined()
  })

  it('forgets what was seen on the table once a write has begun, and keeps it where it was refused', async () => {
    let isRefused = true
    const { desk, asked } = machine({
      ...quiet,
      'write.start': () => {
        if (isRefused) throw new ProblemError({ code: 'write.port', message: 'The port is in use.' })
        return { lane: 'lane-1' }
      },
    })
    const draft = {
      ...desk.draftOf('wren-trainer'),
      ...chosen,
      cautions: { key: 'k', answers: { motor: 'off' } },
    }
    const plan = planOf(
      demoBench(),
      'wren-trainer',
      { kind: 'bench', imageId: demoDefaults.imageId },
      false,
      draft,
    )
    if (plan === undefined) throw new Error('no plan')
    desk.setDraft('wren-trainer', draft)
    await expect(desk.start(plan, draft)).rejects.toThrow('The port is in use.')
    expect(desk.draftOf('wren-trainer').cautions.answers).toEqual({ motor: 'off' })
    isRefused = false
    await desk.start(plan, draft)
    expect(asked.at(-1)).toEqual(['write.start', { plan, cautions: { motor: 'off' }, recovers: undefined }])
    expect(desk.draftOf('wren-trainer').cautions.answers).toEqual({})
  })

  it('keeps both halves of what is typed into the editor, whichever of them comes last', () => {
    const { desk } = machine(quiet)
    desk.type({ text: 'nothing is edited' })
    expect(desk.get().editing).toBeUndefined()
    desk.edit({ name: 'st-an3155', text: undefined })
    desk.type({ exchange: '→ 7F' })
    desk.type({ text: '{}' })
    expect(desk.get().editing).toEqual({ name: 'st-an3155', text: '{}', exchange: '→ 7F' })
  })

  it('sets the last port, wiring and dialect for the next receiver, and for the next start', () => {
    const { desk, client, memory } = machine(quiet)
    desk.setDraft('wren-trainer', { ...desk.draftOf('wren-trainer'), ...chosen })
    expect(desk.draftOf('another')).toMatchObject(chosen)
    expect(new WriteDesk(client, memory).draftOf('wren-trainer')).toMatchObject(chosen)
    // A shop chooses its adapters once; that a batch is begun it says each time.
    const shop = ['/dev/ttyUSB0', '/dev/ttyUSB1']
    desk.setDraft('wren-trainer', { ...desk.draftOf('wren-trainer'), mode: 'batch', ports: shop })
    expect(new WriteDesk(client, memory).draftOf('wren-trainer')).toMatchObject({ mode: 'one', ports: shop })
  })

  it('tells of a write that broke off until somebody has seen to it', async () => {
    const session = { sessionId: 's', stateWords: 'Only partly written.' }
    const { desk } = machine({ ...quiet, 'write.interrupted': () => ({ sessions: [session] }) })
    desk.listen()
    await settled()
    expect(desk.get().interrupted).toEqual([session])
    desk.settle('s')
    await settled()
    expect(desk.get().interrupted).toEqual([])
  })

  it('shows why something could not be done, and takes a closed lane off the screen', async () => {
    const { desk, tell } = machine({
      ...quiet,
      'write.cancel': () => {
        throw new ProblemError({ code: 'write.ended', message: 'It has ended.' })
      },
    })
    desk.listen()
    tell('write.lane', lane({ end: ending() }))
    desk.cancel('lane-1')
    await settled()
    expect(desk.get().problems.map(p => p.message)).toEqual(['It has ended.'])
    desk.dismiss('lane-1')
    await settled()
    expect(desk.get().lanes).toEqual([])
  })

  it('says so when the machine does not answer while something is live, and not when nothing is', async () => {
    let isThere = false
    const { desk, tell } = machine({
      ...quiet,
      'write.lanes': () => {
        if (!isThere) throw new Error('not there')
        return { lanes: [lane()], batch: null }
      },
    })
    const end = desk.listen()
    await desk.watch()
    expect(desk.get().isLost).toBe(false)
    tell('write.lane', lane())
    await desk.watch()
    expect(desk.get().isLost).toBe(true)
    isThere = true
    await desk.watch()
    expect(desk.get()).toMatchObject({ isLost: false, lanes: [lane()] })
    end()
  })

  it('tells what broke off once another program answers that knows of no write', async () => {
    const session = { sessionId: 's', stateWords: 'Only partly written.' }
    const { desk, tell } = machine({ ...quiet, 'write.interrupted': () => ({ sessions: [session] }) })
    const end = desk.listen()
    tell('write.lane', lane())
    await desk.watch()
    expect(desk.get()).toMatchObject({ lanes: [], interrupted: [session] })
    end()
  })

  it('keeps of each port of a batch the last write, and all that failed', async () => {
    const { desk, tell } = machine(quiet)
    const end = desk.listen()
    const batch = (name: string) => ({
      ...{ running: true, done: 0, failed: 0, tally: [] },
      ports: [{ key: '/dev/ttyUSB0', label: 'Red one', waiting: '', lane: name }],
    })
    const outcomes = { a: 'updated', b: 'failed', c: 'updated', d: 'updated' } as const
    for (const [name, outcome] of Object.entries(outcomes)) {
      tell('write.batch', batch(name))
      tell('write.lane', lane({ lane: name }))
      tell('write.lane', lane({ lane: name, end: ending({ outcome }) }))
    }
    await settled()
    expect(desk.get().lanes.map(l => l.lane)).toEqual(['b', 'd'])
    end()
  })
})
