import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { builtInDialects, demoDialects } from '../../shared/dialect/built-in/all.ts'
import { DialectDevice } from '../../shared/dialect/device.ts'
import { DEVICE_FAULTS, type DeviceFault, deviceFaultWords } from '../../shared/dialect/device-faults.ts'
import { DeviceMemory } from '../../shared/dialect/device-memory.ts'
import type { DeviceOptions } from '../../shared/dialect/device-options.ts'
import { identifyByDialect, readByDialect, writeByDialect } from '../../shared/dialect/interpret.ts'
import { DialectParty } from '../../shared/dialect/party.ts'
import { type DialectPlan, isProven } from '../../shared/dialect/plan.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { stateIfBrokenOff } from '../../shared/dialect/state.ts'
import { bootRomTiming, writeThroughBootRom } from '../../shared/procedure/boot-rom.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { dice } from '../../shared/sim/dice.ts'
import { PortBuffer } from '../../shared/sim/port.ts'
import { VirtualRunner } from '../../shared/sim/runner.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { stType } from '../support/boot-rom-rig.ts'
import { imageOf, planOf } from '../support/dialect-rig.ts'
import { lineRig } from '../support/line-rig.ts'
import { playWith } from '../support/with-device.ts'

const dialects = [...builtInDialects().values(), ...demoDialects().values()]
const dialectOf = (name: string) => dialects.find(d => d.name === name) as Dialect
const BASE = 0x0800_2000
const BYTES = 3000
/** The version that the Dart loader reads at octet 16 of its program. */
const VERSION = [2, 7, 1]
const image = imageOf(BYTES)
image.set(VERSION, 16)

const memory = (held?: Uint8Array) =>
  new DeviceMemory({ octets: 8192, base: BASE, pageOctets: 1024, ...(held ? { held } : {}) })
const deviceOf = (name: string, change: Partial<DeviceOptions> = {}) =>
  new DialectDevice({ dialect: dialectOf(name), memory: memory(imageOf(8192, 77)), ...change })
const plan = (name: string, change: Partial<DialectPlan> = {}): DialectPlan =>
  planOf(dialectOf(name), image, {
    pages: [0, 1, 2],
    expectBefore: name === 'tamsin-dart' ? { type: '0D47' } : name === 'st-an3155' ? { chip: '410' } : {},
    expectAfter: name === 'tamsin-dart' ? { version: VERSION.join('.') } : {},
    ...change,
  })
const holds = (device: DialectDevice) =>
  device.memory.octets.subarray(0, BYTES).every((octet, i) => octet === image[i])

describe('each dialect against its own mirror', () => {
  it.each(dialects.map(d => d.name))('%s: what is written is there', name => {
    const device = deviceOf(name)
    const { result, events } = playWith(writeByDialect(plan(name)), device)
    expect(result).toMatchObject({ ended: 'done', attempts: 1, retries: 0 })
    expect(holds(device)).toBe(true)
    expect(isProven(result)).toBe(name === 'tamsin-dart')
    expect(events.filter(e => e.kind === 'progress').at(-1)).toMatchObject({ done: expect.any(Number) })
  })

  it('the loader that can do everything shows it', () => {
    const device = deviceOf('tamsin-dart')
    expect(device.inBootLoader).toBe(false)
    const before = device.memory.read(0, 2048)
    const { result } = playWith(
      writeByDialect(plan('tamsin-dart', { backup: { address: BASE, octets: 2048 } })),
      device,
    )
    expect(result).toMatchObject({
      state: 'runs-new',
      proof: { verified: 'digest', started: true, identified: true },
    })
    expect(result.identity?.map(f => f.value)).toEqual(['0D47', '2.7.1', '0'])
    expect(result.backup).toEqual(before)
    expect(device.inBootLoader).toBe(false)
  })

  it('reads and identifies, and lets it go again', () => {
    const device = deviceOf('tamsin-dart')
    const read = playWith(
      readByDialect({ dialect: dialectOf('tamsin-dart'), baud: 57_600, address: BASE + 100, octets: 300 }),
      device,
    )
    expect(read.result.octets).toEqual(device.memory.read(100, 300))
    expect(device.inBootLoader).toBe(false)
    const { result } = playWith(
      identifyByDialect({ dialect: dialectOf('st-an3155'), baud: 9600 }),
      deviceOf('st-an3155'),
    )
    expect(result.identity?.map(f => f.value)).toEqual(['0410', '31'])
  })

  it('AN3155: Erase where the chip has no Extended Erase', () => {
    const says = { commands: Uint8Array.of(0, 1, 2, 0x11, 0x21, 0x31, 0x43, 0x63, 0x73, 0x82, 0x92) }
    const device = deviceOf('st-an3155', { says })
    const { result, sent } = playWith(writeByDialect(plan('st-an3155')), device)
    expect(result.ended).toBe('done')
    expect(sent.some(octets => octets[0] === 0x43 && octets[1] === 0xbc)).toBe(true)
    expect(holds(device)).toBe(true)
  })

  it('XMODEM with the one-octet sum, where the receiver prefers it', () => {
    const device = deviceOf('xmodem-crc', { prefers: ['sumStart'] })
    const { result, sent } = playWith(writeByDialect(plan('xmodem-crc')), device)
    expect(result.ended).toBe('done')
    expect(sent[0]).toHaveLength(132)
    expect(holds(device)).toBe(true)
  })

  it('block numbers that go round: 300 blocks by XMODEM, and by YMODEM', () => {
    for (const name of ['xmodem-crc', 'ymodem']) {
      const large = imageOf(name === 'ymodem' ? 300 * 1024 : 300 * 128, 3)
      const device = new DialectDevice({
        dialect: dialectOf(name),
        memory: new DeviceMemory({ octets: large.length + 1024, base: BASE }),
      })
      const { result } = playWith(writeByDialect(planOf(dialectOf(name), large)), device)
      expect(result).toMatchObject({ ended: 'done', retries: 0 })
      expect(device.memory.read(0, large.length)).toEqual(large)
      if (name === 'ymodem') expect(device.work.fileName).toBe('image.bin')
    }
  })
})

describe('the mirror of AN3155 is understood by the procedure written by hand', () => {
  it('writes, reads back and starts', () => {
    const device = deviceOf('st-an3155')
    const { result } = playWith(
      writeThroughBootRom({
        ...{ baud: 115_200, address: BASE, octets: image, pages: [0, 1, 2], startAt: BASE, chipId: 0x410 },
        ...{ writeMultiple: 4, timing: bootRomTiming(115_200, stType().flash, 0) },
        ...{ connectTries: 3, tries: 3, attempts: 1 },
      }),
      device,
    )
    expect(result).toMatchObject({ ended: 'done', started: true, retries: 0 })
    expect(holds(device)).toBe(true)
  })
})

const faults: Record<DeviceFault['kind'], DeviceFault> = {
  silent: { kind: 'silent' },
  'first-attempt': { kind: 'first-attempt' },
  nack: { kind: 'nack', block: 2, times: 1 },
  stall: { kind: 'stall', block: 3 },
  garbage: { kind: 'garbage', block: 2 },
  'verify-differs': { kind: 'verify-differs' },
  cut: { kind: 'cut', block: 3 },
  'other-identity': { kind: 'other-identity' },
  'not-started': { kind: 'not-started' },
}

describe('faults', () => {
  it('all have words', () => {
    expect(Object.keys(faults).sort()).toEqual([...DEVICE_FAULTS].sort())
    for (const kind of DEVICE_FAULTS) expect(deviceFaultWords[kind].length).toBeGreaterThan(5)
  })

  const run = (name: string, fault: DeviceFault) => {
    const device = deviceOf(name, { fault })
    return { device, ...playWith(writeByDialect(plan(name)), device) }
  }
  const all = dialects.flatMap(d => DEVICE_FAULTS.map(kind => [d.name, kind] as const))

  it.each(all)('%s, %s: it ends, and never in a false success', (name, kind) => {
    const { result, device } = run(name, faults[kind])
    if (isProven(result)) expect(holds(device)).toBe(true)
    if (result.ended === 'done' && kind !== 'verify-differs') expect(holds(device)).toBe(true)
    if (result.proof.verified !== 'none') expect(holds(device)).toBe(true)
    if (result.ended === 'failed') expect(result.text.length).toBeGreaterThan(10)
  })

  it.each(dialects.map(d => d.name))('%s: what comes of each', name => {
    expect(run(name, faults.silent).result).toMatchObject({
      ended: 'failed',
      code: 'no-answer',
      state: 'as-before',
    })
    expect(run(name, faults.nack).result).toMatchObject({ ended: 'done', attempts: 1, retries: 1 })
    expect(run(name, faults.garbage).result).toMatchObject({ ended: 'done', attempts: 1 })
    expect(run(name, faults['first-attempt']).result).toMatchObject({ ended: 'done', attempts: 2 })
    expect(run(name, faults.stall).result).toMatchObject({ ended: 'failed', state: 'partly-written' })
    expect(run(name, faults.cut).result).toMatchObject({ ended: 'failed', state: 'partly-written' })
  })

  it('what differs is found where the dialect can look, and not claimed where it cannot', () => {
    for (const name of ['st-an3155', 'tamsin-dart'])
      expect(run(name, faults['verify-differs']).result).toMatchObject({
        ended: 'failed',
        code: 'verify-differs',
      })
    expect(run('tamsin-twig', faults['verify-differs']).result).toMatchObject({
      ended: 'failed',
      code: 'refused',
    })
    expect(run('xmodem-crc', faults['verify-differs']).result).toMatchObject({
      ended: 'done',
      state: 'written-not-proven',
    })
  })

  it('another type is left alone; one that does not start is told', () => {
    const other = run('tamsin-dart', faults['other-identity'])
    expect(other.result).toMatchObject({
      ended: 'failed',
      code: 'other-identity',
      attempts: 1,
      state: 'as-before',
    })
    expect(other.device.memory.octets).toEqual(imageOf(8192, 77))
    expect(run('tamsin-dart', faults['not-started']).result).toMatchObject({
      ended: 'failed',
      code: 'not-started',
      state: 'written-not-proven',
    })
  })

  it('switched off and on it works again', () => {
    const { device } = run('st-an3155', faults.cut)
    expect(device.isDead).toBe(true)
    device.restart(0)
    const again = playWith(writeByDialect(plan('st-an3155')), device)
    expect(again.result.ended).toBe('done')
    expect(holds(device)).toBe(true)
  })
})

describe('anything at all', () => {
  const anyFault = fc.oneof(
    ...(['silent', 'first-attempt', 'verify-differs', 'other-identity', 'not-started'] as const).map(kind =>
      fc.constant<DeviceFault>({ kind }),
    ),
    fc.record({
      kind: fc.constantFrom('stall' as const, 'garbage' as const, 'cut' as const),
      block: fc.integer({ min: 1, max: 30 }),
    }),
    fc.record({
      kind: fc.constant('nack' as const),
      block: fc.integer({ min: 1, max: 30 }),
      times: fc.integer({ min: 1, max: 12 }),
    }),
    fc.constant(undefined),
  )

  it('any fault, any noise, any moment of breaking off: it ends, its word is true', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...dialects),
        anyFault,
        fc.record({ seed: fc.nat(), rate: fc.constantFrom(0, 0, 0.02, 0.2) }),
        fc.option(fc.nat(300)),
        (dialect, fault, noise, breakAt) => {
          const die = dice(noise.seed, 'noise')
          const spoil = (octets: Uint8Array): Uint8Array => {
            if (die.next() >= noise.rate) return octets
            if (die.next() < 0.3) return octets.slice(0, Math.floor(die.next() * octets.length))
            const changed = octets.slice()
            changed[Math.floor(die.next() * changed.length)] ^= 1 << Math.floor(die.next() * 8)
            return changed
          }
          const device = deviceOf(dialect.name, fault ? { fault } : {})
          const untouched = device.memory.octets.slice()
          const { result, events } = playWith(
            writeByDialect(plan(dialect.name)),
            device,
            spoil,
            (_, i) => i === breakAt,
          )
          const changed = device.memory.octets.some((octet, i) => octet !== untouched[i])
          const state = result === undefined ? stateIfBrokenOff(events) : result.state
          if (changed) expect(state).not.toBe('as-before')
          if (result?.proof.verified !== 'none' && result !== undefined) expect(holds(device)).toBe(true)
          if (result && isProven(result)) expect(holds(device)).toBe(true)
        },
      ),
      { numRuns: 400 },
    )
  }, 60_000)

  it('whatever octets it hears, it neither throws nor speaks without end', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...dialects),
        fc.array(fc.uint8Array({ maxLength: 300 }), { maxLength: 12 }),
        (dialect, bursts) => {
          const device = deviceOf(dialect.name)
          let nowNs = 0
          for (const burst of bursts) {
            nowNs += 5e6
            device.hear(burst, nowNs)
            for (
              let due = device.due(), i = 0;
              due !== undefined && due <= nowNs + 1e9;
              due = device.due(), i++
            ) {
              expect(i).toBeLessThan(2000)
              nowNs = Math.max(nowNs, due)
              device.answer(nowNs)
            }
          }
        },
      ),
      { numRuns: 500 },
    )
  })
})

describe('at a line of the simulator', () => {
  it.each(['st-an3155', 'ymodem', 'tamsin-twig'])('%s', name => {
    const { parity } = dialectOf(name).line
    const { kernel, line } = lineRig({ parity: parity === 'odd' ? 'even' : parity })
    const device = deviceOf(name)
    const party = new DialectParty(kernel, line, device)
    const trace = new TraceRecorder()
    const port = new PortBuffer()
    const nothing = () => {}
    const runner = new VirtualRunner({
      ...{ kernel, trace, line, port, party: line.attach('adapter', 'radio', port) },
      ...{ card: new VirtualCard(undefined, trace), mayOpen: () => undefined },
      ...{ beforeEffect: nothing, onOpen: nothing, onStaged: nothing },
    })
    expect(runner.run(writeByDialect(plan(name)))).toMatchObject({ ended: 'done', retries: 0 })
    expect(holds(device)).toBe(true)
    expect(party).toBeDefined()
  })
})
