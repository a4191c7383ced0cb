import { describe, expect, it } from 'vitest'
import { blankMemory } from '../../shared/sim/memory.ts'
import { Table } from '../../shared/sim/table.ts'
import { calmWorld } from '../../shared/sim/world.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
if (wren === undefined) throw new Error('the small bench has no Wren')
const table = (receiverId: string, route: 'cable' | 'wireless') =>
  new Table({
    setup: { bench, receiverId, route, world: calmWorld },
    seed: 1,
    memory: blankMemory(wren),
    image: undefined,
    host: { name: 'radio', listener: { hear: () => true } },
  })

describe('a table', () => {
  it('by cable has the bus at the rate of the type, and a radio that polls', () => {
    const laid = table('wren-trainer', 'cable')
    laid.layCable()
    expect(laid.line.baud).toBe(wren.bus.baud)
    expect(laid.poller).toBeDefined()
    expect(laid.trace.lanes.map(l => l.id)).toEqual(['bus'])
  })

  it('by air has the wire to the module and the air, and nobody polls', () => {
    const laid = table('wren-trainer', 'wireless')
    laid.layCable()
    expect(laid.poller).toBeUndefined()
    expect(laid.trace.lanes.map(l => l.id)).toEqual(['module-port', 'air'])
  })

  it.each([
    ['sound', true, true],
    ['open', false, false],
    ['deaf', false, true],
  ] as const)('with a near end that is %s: hears itself %s, is heard %s', (nearEnd, hearsItself, isHeard) => {
    const heard: number[] = []
    const laid = new Table({
      setup: { bench, receiverId: 'wren-trainer', route: 'cable', world: { ...calmWorld, nearEnd } },
      ...{ seed: 1, memory: blankMemory(wren), image: undefined },
      host: {
        name: 'adapter',
        hearsItself: true,
        listener: { hear: (octets, from, to) => heard.push(...octets.subarray(from, to)) },
      },
    })
    laid.layCable()
    const beyond: number[] = []
    laid.line.attach('probe', 'receiver', {
      hear: (octets, from, to) => beyond.push(...octets.subarray(from, to)),
    })
    const endNs = laid.line.sendOctets(laid.party, Uint8Array.of(0x55, 0x12))
    while (laid.kernel.nextNs <= endNs) laid.kernel.step()
    expect(heard).toEqual(hearsItself ? [0x55, 0x12] : [])
    expect(beyond).toEqual(isHeard ? [0x55, 0x12] : [])
  })

  it('is not laid for a receiver that is not there', () => {
    expect(() => table('nobody', 'cable')).toThrow(/no receiver called "nobody"/)
  })
})
