import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { dice } from '../../shared/sim/dice.ts'
import { makeRegion } from '../../shared/sim/flash.ts'
import { Flasher } from '../../shared/sim/flasher.ts'
import { Kernel, msToNs } from '../../shared/sim/kernel.ts'
import { FLASH_OP, TraceRecorder } from '../../shared/sim/trace.ts'
import type { CutPoint } from '../../shared/sim/world.ts'

const [type] = demoBench().catalogue.receiverTypes
const data = Uint8Array.from({ length: 56 }, (_, i) => i * 3)

/** Erases page 1, writes to it, writes again: three operations, one after the other. */
function work(cut?: CutPoint) {
  const kernel = new Kernel()
  const trace = new TraceRecorder()
  const region = makeRegion('program', 4096, 1024)
  region.octets.fill(0x5a, 1024, 2048)
  const finished: number[] = []
  let cuts = 0
  const flasher = new Flasher({
    kernel,
    trace,
    type,
    timing: dice(1, 'flash'),
    tearing: dice(1, 'tearing'),
    cut,
    onCut: () => {
      cuts++
      flasher.powerFailed()
    },
  })
  flasher.erase(region, 1, () => {
    finished.push(kernel.nowNs)
    flasher.program(region, 1024, data, () => {
      finished.push(kernel.nowNs)
      flasher.program(region, 1024 + data.length, data, () => finished.push(kernel.nowNs))
    })
  })
  while (kernel.step());
  return { flasher, region, finished, cuts, log: trace.done(kernel.nowNs).flash }
}

describe('flash operations', () => {
  it('take the time that flash takes, one after the other, and are logged and counted', () => {
    const { flasher, region, finished, log } = work()
    expect(flasher.operations).toBe(3)
    expect(finished).toHaveLength(3)
    expect([...log.kind]).toEqual([FLASH_OP.erase, FLASH_OP.program, FLASH_OP.program])
    expect([...log.offset]).toEqual([1024, 1024, 1080])
    expect([...log.bytes]).toEqual([1024, 56, 56])
    expect([...log.torn]).toEqual([0, 0, 0])
    expect([...log.endNs]).toEqual(finished)
    expect([...log.startNs]).toEqual([0, ...finished.slice(0, 2)])
    // ST DS5319 tables 28 and 29: 20 to 40 ms a page, 40 to 70 us a half-word.
    expect(finished[0]).toBeGreaterThanOrEqual(msToNs(20))
    expect(finished[0]).toBeLessThanOrEqual(msToNs(40))
    for (const i of [1, 2]) {
      expect(finished[i] - finished[i - 1]).toBeGreaterThanOrEqual(28 * 40_000)
      expect(finished[i] - finished[i - 1]).toBeLessThanOrEqual(28 * 70_000)
    }
    expect(region.octets.subarray(1024, 1080)).toEqual(data)
  })
})

describe('a cut', () => {
  const at = (index: number, when: 'before' | 'during' | 'after') => work({ at: 'flash-op', index, when })

  it('before an operation leaves flash as it was', () => {
    const { region, finished, cuts, log } = at(1, 'before')
    expect(cuts).toBe(1)
    expect(finished).toHaveLength(1)
    expect(log.count).toBe(1)
    expect(region.octets.subarray(1024, 2048).every(o => o === 0xff)).toBe(true)
  })

  it('during a write leaves part of it, and during an erase a page that is neither', () => {
    const write = at(1, 'during')
    expect(write.cuts).toBe(1)
    expect(write.finished).toHaveLength(1)
    expect([...write.log.torn]).toEqual([0, 1])
    expect(write.region.octets.subarray(1024, 1080)).not.toEqual(data)
    expect(write.region.octets.subarray(1024, 1028)).toEqual(data.subarray(0, 4))
    const erased = at(0, 'during')
    expect([...erased.log.torn]).toEqual([1])
    const page = erased.region.octets.subarray(1024, 2048)
    expect(page.every(o => (o & 0x5a) === 0x5a)).toBe(true)
    expect(page.some(o => o !== 0x5a)).toBe(true)
    expect(page.some(o => o !== 0xff)).toBe(true)
  })

  it('after an operation leaves it whole, and the next never begins', () => {
    const { flasher, region, finished, cuts, log } = at(1, 'after')
    expect(cuts).toBe(1)
    expect(finished).toHaveLength(1)
    expect(flasher.operations).toBe(2)
    expect([...log.torn]).toEqual([0, 0])
    expect(region.octets.subarray(1024, 1080)).toEqual(data)
    expect(region.octets.subarray(1080, 1136).every(o => o === 0xff)).toBe(true)
  })

  it('that names an operation which never comes does nothing', () => {
    expect(at(3, 'before').cuts).toBe(0)
    expect(at(3, 'before').finished).toHaveLength(3)
  })
})

it('power can be cut at a block of program flash, whatever is erased before it', () => {
  // Erase is the first operation here, so the second block is the third.
  const { cuts, finished, log } = work({ at: 'block', index: 1, when: 'during' })
  expect(cuts).toBe(1)
  expect(finished).toHaveLength(2)
  expect([...log.torn]).toEqual([0, 0, 1])
})
