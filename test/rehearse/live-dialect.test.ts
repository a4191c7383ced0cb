import { describe, expect, it } from 'vitest'
import { demoDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { DialectPlan } from '../../shared/dialect/plan.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { DialectLoader } from '../../shared/rehearse/live-dialect.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { addressMapOf, placeOf } from '../../shared/sim/address-map.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { emulationRequest } from '../support/emulated.ts'
import { LiveLoop } from '../support/live-loop.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
if (!wren) throw new Error('the small bench has no Wren')
const made = benchImage(bench, wren, 'wren-6-2.4.0')
if (!made.ok) throw new Error(made.problems[0].message)
const { payload } = made.value

function lay(dialect: string | Dialect, faults: readonly FaultChoice[] = []) {
  const data = typeof dialect === 'string' ? (demoDialects().get(dialect) as Dialect) : dialect
  const laid = layEmulation(emulationRequest({ dialect, faults, pace: 'line' }))
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const { type, memory, live } = laid.value
  const place = placeOf(addressMapOf(type, memory), memory.program)
  const loop = new LiveLoop(live, new VirtualCard(undefined, new TraceRecorder()))
  const write = (change: Partial<DialectPlan> = {}) =>
    loop.run(
      writeByDialect({
        dialect: data,
        baud: data.line.baud[0],
        image: { octets: payload, address: type.flash.programAddress, fileName: 'image.bin' },
        pages: Array.from({ length: place?.pages ?? 0 }, (_, i) => (place?.firstPage ?? 0) + i),
        ...{ wordOctets: type.flash.wordBytes, expectBefore: {}, expectAfter: {} },
        ...change,
      }),
    )
  return { ...laid.value, write, loop }
}

describe.each([...demoDialects().keys()])('a receiver made from the dialect %s', name => {
  it('holds what was written, and runs it', () => {
    const { write, memory, held } = lay(name)
    expect(write()).toMatchObject({ ended: 'done', attempts: 1 })
    expect(memory.program.octets.subarray(0, payload.length)).toEqual(payload)
    expect(held()).toMatchObject({ outcome: 'updated', firmware: '2.4.0' })
  })

  it('is left without an image that starts when its supply goes', () => {
    const { write, held } = lay(name, [{ name: 'cut-at-block', value: '3' }])
    expect(write({ attempts: 1 })).toMatchObject({ ended: 'failed' })
    expect(held().outcome).toBe('needs-cable')
  })

  it('does not hear anything through a broken wire', () => {
    const { write, held } = lay(name, [{ name: 'silent' }])
    expect(write({ attempts: 1 })).toMatchObject({ ended: 'failed', state: 'as-before' })
    expect(held().outcome).toBe('unchanged')
  })

  it('takes it at the second attempt', () => {
    const { write, held } = lay(name, [{ name: 'first-write-fails' }])
    const end = write()
    expect(end).toMatchObject({ ended: 'done' })
    expect(end.attempts + end.retries).toBeGreaterThan(1)
    expect(held().outcome).toBe('updated')
  })

  it('is silent when it was switched off, and works again when it is on', () => {
    const { write, live, loop, held } = lay(name)
    live.device.switchOff()
    expect(write({ attempts: 1 })).toMatchObject({ ended: 'failed', state: 'as-before' })
    live.device.switchOn()
    live.runTo(loop.nowNs + msToNs(500))
    loop.nowNs = live.nowNs
    expect(write()).toMatchObject({ ended: 'done' })
    expect(held().outcome).toBe('updated')
  })
})

it('a dialect of a file is played like any other', () => {
  const { write, held } = lay({ ...(demoDialects().get('tamsin-twig') as Dialect), name: 'my-loader' })
  expect(write()).toMatchObject({ ended: 'done' })
  expect(held().outcome).toBe('updated')
})

it.each([
  ['preflash-bus', undefined, true],
  ['preflash-bus', false, false],
  ['tamsin-dart', undefined, true],
  ['tamsin-dart', false, false],
  ['st-an3155', undefined, false],
  ['st-an3155', true, true],
  ['xmodem-crc', undefined, false],
] as const)('%s with echo %s: whether the host hears itself is %s', (dialect, echo, hears) => {
  const laid = layEmulation({ ...emulationRequest({ dialect, pace: 'line', talksFirst: false }), echo })
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const { live } = laid.value
  live.runTo(msToNs(100))
  // Boot loaders that talk first have done so by now.
  live.taken()
  live.hear(Uint8Array.of(1, 2, 3), msToNs(100))
  live.runTo(msToNs(101))
  expect(live.taken().flatMap(h => [...h.octets])).toEqual(hears ? [1, 2, 3] : [])
  expect(laid.value.echo).toBe(hears)
})

it('can have one fault of its own, and says so', () => {
  const faults = [{ name: 'cut-at-block' }, { name: 'verify-differs' }]
  const laid = layEmulation(emulationRequest({ dialect: 'tamsin-dart', faults }))
  expect(laid.ok ? '' : laid.problems[0].message).toMatch(/only one fault of its own/)
  expect(DialectLoader.name).toBe('DialectLoader')
})
