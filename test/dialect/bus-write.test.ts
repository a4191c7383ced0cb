import { describe, expect, it } from 'vitest'
import { BUS_DIALECT, type BusWritePlan, writeByBus } from '../../shared/dialect/bus-write.ts'
import { isProven } from '../../shared/dialect/plan.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { memoryOf, planFor, stagingOf } from '../../shared/rehearse/table.ts'
import { runSession } from '../../shared/sim/session.ts'
import { calmWorld, type World } from '../../shared/sim/world.ts'
import { smallBench } from '../support/small-bench.ts'

/** The bus against the receiver of the simulator. */
const bench = smallBench()
const [type] = bench.catalogue.receiverTypes
const unit = bench.receivers.find(r => r.id === 'wren-trainer')!
const made = benchImage(bench, type, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const image = made.value
const { timing, baud, types } = planFor(bench, type, 'cable', stagingOf(image, 'F'))
const plan: BusWritePlan = { payload: image.payload, card: image.card, timing, baud, types, attempts: 2 }

function session(change: Partial<World> = {}, busPlan = plan) {
  const memory = memoryOf(bench, type, unit)
  const setup = { bench, receiverId: unit.id, route: 'cable', world: { ...calmWorld, ...change } } as const
  const end = runSession(
    { setup, seed: 1, memory, image: image.facts, onStaged: () => {} },
    writeByBus(busPlan),
  )
  return { memory, end: end.result! }
}

describe(BUS_DIALECT, () => {
  it('writes, verifies and is told the new version', () => {
    const { memory, end } = session()
    expect(end).toMatchObject({
      ended: 'done',
      state: 'runs-new',
      proof: { verified: 'digest', identified: true },
    })
    expect(isProven(end)).toBe(true)
    expect(memory.program.octets.slice(0, image.payload.length)).toEqual(image.payload)
    expect(end.identity?.find(f => f.role === 'version')?.value).toBe('2.4.0')
    expect(end.identity?.find(f => f.role === 'type')?.value).toBe(type.name)
  })

  it('cannot show that a pre-release runs, and says so', () => {
    const made = benchImage(
      {
        ...bench,
        images: bench.images.map(i => ({ ...i, version: i.version === '2.4.0' ? '2.4.0-rc1' : i.version })),
      },
      type,
      'wren-6-2.4.0',
    )
    if (!made.ok) throw new Error(made.problems[0].message)
    const { payload, card } = made.value
    const { end } = session({}, { ...plan, payload, card })
    expect(end).toMatchObject({
      ended: 'done',
      state: 'written-not-proven',
      proof: { verified: 'digest', started: true, identified: false },
    })
    expect(end.text).toBe(
      'The receiver says 2.4.0. It can say numbers only, and cannot show that it runs 2.4.0-rc1 and no other 2.4.0.',
    )
    expect(isProven(end)).toBe(false)
  })

  it('nobody there: as before', () => {
    expect(session({ receiverDead: true }).end).toMatchObject({
      ended: 'failed',
      code: 'no-answer',
      state: 'as-before',
    })
  })

  it('supply cut while it writes: partly written', () => {
    const cut = { at: 'block', index: 20, when: 'after' } as const
    expect(session({ cut }).end).toMatchObject({ ended: 'failed', state: 'partly-written' })
  })

  it('an image that is not what its card says is not sent', () => {
    const payload = image.payload.slice()
    payload[100] ^= 1
    const { end, memory } = session({}, { ...plan, payload })
    expect(end).toMatchObject({ ended: 'failed', code: 'image-damaged', state: 'as-before' })
    expect(memory.program.octets.slice(0, 64)).toEqual(
      memoryOf(bench, type, unit).program.octets.slice(0, 64),
    )
  })

  it('broken off, it lets go of the procedure inside', () => {
    const procedure = writeByBus(plan)
    procedure.next()
    expect(procedure.return(undefined as never).done).toBe(true)
    expect(procedure.next().done).toBe(true)
  })
})
