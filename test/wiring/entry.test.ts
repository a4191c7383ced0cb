import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { checkWiring } from '../../shared/wiring/check.ts'
import { entryOf } from '../../shared/wiring/entry.ts'

const bench = demoBench()
const typeOf = (id: string) => bench.catalogue.receiverTypes.find(t => t.id === id) as ReceiverType
const plover = typeOf('aldwick-plover-10')
const wren = typeOf('aldwick-wren-6')

describe('where a programmer goes in', () => {
  it.each([
    ['what the type says is spoken there', { dialect: 'st-an3155' }, 'service'],
    ['whatever needs two lines', { dialect: 'mine', duplex: 'full' }, 'service'],
    ['the bus', { dialect: 'preflash-bus' }, 'update-plug'],
    ['another that takes turns on one wire', { dialect: 'mine', duplex: 'half' }, 'update-plug'],
    ['nothing in particular', {}, 'service'],
  ] as const)('is decided by %s', (_, spoken, at) => {
    expect(entryOf(plover, spoken).at).toBe(at)
    expect(entryOf(wren, spoken).at).toBe('update-plug')
  })

  it('has levels of its own', () => {
    const odd: ReceiverType = {
      ...plover,
      bus: { ...plover.bus, signalVolts: 5, inverted: true },
      service: { connectorId: 'x', signalVolts: 3.3, inverted: false },
    }
    expect(entryOf(odd)).toEqual({
      at: 'service',
      connectorId: 'x',
      signalVolts: 3.3,
      toleratesVolts: undefined,
      inverted: false,
    })
    expect(entryOf(odd, { dialect: 'preflash-bus' })).toMatchObject({ signalVolts: 5, inverted: true })
  })

  it('stays the plug where nobody has looked up what is spoken at the service connector', () => {
    const silent = { ...plover, service: { connectorId: 'x', signalVolts: 3.3, inverted: false } as const }
    expect(entryOf(silent, { dialect: 'st-an3155' }).at).toBe('update-plug')
    expect(entryOf(silent, { dialect: 'st-an3155', duplex: 'full' }).at).toBe('service')
  })
})

describe('the service connector of the demo', () => {
  const check = (change: { adapterId?: string; cableId?: string; dialect?: string; receiverId?: string }) => {
    const done = checkWiring({
      ...{ bench, receiverId: 'plover-soarer', adapterId: 'service-adapter', cableId: 'service-cable' },
      ...{ dialect: 'st-an3155', feed: 'through-cable' },
      ...change,
    })
    if (!done.ok) throw new Error(done.problems[0].message)
    const { safe, findings, setup } = done.value
    const wrong = findings.filter(f => f.severity === 'danger' || f.severity === 'block')
    return { safe, at: setup?.entry.at, first: wrong[0] }
  }

  it('is safe with its own cable, through either adapter of 3.3 V', () => {
    for (const adapterId of ['service-adapter', 'bench-programmer'])
      expect(check({ adapterId })).toEqual({ safe: true, at: 'service', first: undefined })
    expect(check({ receiverId: 'dunlin-ketch', dialect: 'ymodem' }).safe).toBe(true)
  })

  it.each([
    [{ cableId: 'service-cable-crossed' }, 'transmit-to-transmit', { cableId: 'service-cable' }],
    [{ cableId: 'programmer-cable' }, 'ground-on-signal', { cableId: 'service-cable' }],
    [{ adapterId: 'five-volt-adapter' }, 'signal-over-volts', { adapterId: 'bench-programmer' }],
    [{ dialect: 'preflash-bus' }, 'ground-on-signal', { cableId: 'programmer-cable' }],
  ])('refuses %j, with what would cure it', (change, code, choose) => {
    const { safe, first } = check(change)
    expect([safe, first?.code, first?.cure?.choose]).toEqual([false, code, choose])
    expect(check({ ...change, ...choose }).safe).toBe(true)
  })
})
