import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { writeByDialect } from '../../shared/dialect/interpret.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { layEmulation } from '../../shared/rehearse/emulate.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import type { FaultChoice } from '../../shared/rehearse/report.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { msToNs } from '../../shared/sim/kernel.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'
import { BYTE, look, statedLength } from '../../shared/sim/xmodem-blocks.ts'
import { XmodemLoader } from '../../shared/sim/xmodem-loader.ts'
import { emulationRequest } from '../support/emulated.ts'
import { LiveLoop } from '../support/live-loop.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const wren = bench.catalogue.receiverTypes.find(t => t.id === 'aldwick-wren-6')
const heron = bench.catalogue.receiverTypes.find(t => t.id === 'tamsin-heron-8')
if (!wren || !heron) throw new Error('the small bench has no such types')
const payloadOf = (type: typeof wren, id: string): Uint8Array => {
  const made = benchImage(bench, type, id)
  if (!made.ok) throw new Error(made.problems[0].message)
  return made.value.payload
}
const payload = payloadOf(wren, 'wren-6-2.4.0')

function lay(dialect: string, faults: readonly FaultChoice[] = [], seed = 1) {
  const laid = layEmulation(emulationRequest({ dialect, faults, seed, pace: 'line' }))
  if (!laid.ok) throw new Error(laid.problems[0].message)
  const loop = new LiveLoop(laid.value.live, new VirtualCard(undefined, new TraceRecorder()))
  const write = (octets = payload, attempts = 2) =>
    loop.run(
      writeByDialect({
        dialect: builtInDialects().get(dialect) as Dialect,
        baud: 115_200,
        image: { octets, address: 0, fileName: 'image.bin' },
        ...{ pages: [], expectBefore: {}, expectAfter: {}, attempts },
      }),
    )
  // The end was acknowledged; the loader notes it, and starts the image a moment later.
  const settle = () => laid.value.live.runTo(loop.nowNs + msToNs(2000))
  return { ...laid.value, loop, write, settle }
}

describe('what arrives by XMODEM', () => {
  const data = Uint8Array.from({ length: 300 }, (_, i) => (7 * i + 3) & 0xff)
  const blockOf = (number: number, part: Uint8Array, check: string) => {
    const whole = new Uint8Array(128).fill(0x1a)
    whole.set(part)
    const crc = check.split(' ').map(pair => Number.parseInt(pair, 16))
    return [BYTE.soh, number, 255 - number, ...whole, ...crc]
  }

  // The worked blocks of the reference values, section 3: computed, and seen on the wire with lrzsz.
  it.each([
    [1, 0, '2E E4'],
    [2, 128, '95 06'],
    [3, 256, 'BA A7'],
  ])('is block %i of the worked example', (number, from, check) => {
    const sent = blockOf(number, data.subarray(from, from + 128), check)
    expect(look(sent)).toMatchObject({ came: 'block', octets: 133, number })
    expect(look(sent.slice(0, -1))).toBeUndefined()
    expect(look(sent.with(7, sent[7] ^ 1))).toEqual({ came: 'damaged', octets: 133 })
    expect(look(sent.with(1, number + 1))).toEqual({ came: 'damaged', octets: 133 })
  })

  it('is an end, a cancel of two octets, or nothing that begins anything', () => {
    expect(look([BYTE.eot])).toEqual({ came: 'end', octets: 1 })
    expect(look([BYTE.cancel])).toBeUndefined()
    expect(look([BYTE.cancel, BYTE.cancel])).toEqual({ came: 'cancel', octets: 2 })
    expect(look([0x55])).toEqual({ came: 'noise', octets: 1 })
    expect(look([])).toBeUndefined()
  })

  // As `sb` writes it: length, time, mode, serial number, files and octets left.
  it('states its length after its name', () => {
    const header = (text: string) => {
      const octets = new Uint8Array(128)
      octets.set(new TextEncoder().encode(text))
      return octets
    }
    expect(statedLength(header('image.bin\0' + '3000 15301502465 100644 0 1 3000'))).toBe(3000)
    expect(statedLength(header('image.bin'))).toBeUndefined()
    expect(statedLength(new Uint8Array(128).fill(0x41))).toBeUndefined()
  })
})

describe.each(['xmodem-crc', 'xmodem-1k', 'ymodem'])('a boot loader that takes its image by %s', name => {
  it('holds what was sent, has checked it, and runs it', () => {
    const { write, settle, memory, held } = lay(name)
    expect(write()).toMatchObject({ ended: 'done', attempts: 1, retries: 0 })
    settle()
    expect(memory.program.octets.subarray(0, payload.length)).toEqual(payload)
    expect(held()).toMatchObject({ outcome: 'updated', firmware: '2.4.0' })
  })

  it('has damaged blocks sent again', () => {
    const { write, settle, memory, held } = lay(name, [{ name: 'line-noise', value: '0.00005' }], 3)
    const end = write()
    settle()
    expect(end.ended).toBe('done')
    expect(end.retries).toBeGreaterThan(0)
    expect(memory.program.octets.subarray(0, payload.length)).toEqual(payload)
    expect(held().outcome).toBe('updated')
  })

  it('is not left with half of it unnoticed when the power goes', () => {
    const { write, held } = lay(name, [{ name: 'cut-at-block', value: '3' }])
    expect(write(payload, 1)).toMatchObject({ ended: 'failed' })
    expect(held().outcome).toBe('needs-cable')
  })

  it('takes it at the second attempt when the supply dips in the first', () => {
    const { write, settle, memory, held } = lay(name, [{ name: 'first-write-fails' }])
    const end = write()
    settle()
    expect(end).toMatchObject({ ended: 'done' })
    expect(end.attempts + end.retries).toBeGreaterThan(1)
    expect(memory.program.octets.subarray(0, payload.length)).toEqual(payload)
    expect(held().outcome).toBe('updated')
  })

  it('does not start what says that it is for another type', () => {
    const { write, settle, held } = lay(name)
    write(payloadOf(heron, 'heron-8-1.7.0'), 1)
    settle()
    expect(held().outcome).not.toBe('updated')
  })

  it('cancels what does not fit', () => {
    const { write } = lay(name)
    const end = write(new Uint8Array(wren.flash.programBytes + 1024).fill(7), 1)
    expect(end).toMatchObject({ ended: 'failed', code: 'broken-off' })
  })

  it('lives on, whatever is said to it', () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({ maxLength: 400 }), { maxLength: 8 }), pieces => {
        const { live, memory } = lay(name)
        let atNs = msToNs(100)
        for (const piece of pieces) {
          atNs += msToNs(700)
          live.hear(piece, atNs)
        }
        live.runTo(atNs + msToNs(30_000))
        expect(memory.dead).toBeUndefined()
      }),
      { numRuns: 40 },
    )
  })
})

it('the loader is the device at the end of the line', () => {
  expect(lay('xmodem-crc').live.device.trace.lanes[0].talkers).toEqual(['adapter', 'boot loader'])
  expect(XmodemLoader.name).toBe('XmodemLoader')
})
