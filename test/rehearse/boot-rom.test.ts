import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import { findType } from '../../shared/model/bench.ts'
import type { ReceiverType } from '../../shared/model/catalogue.ts'
import { COMMAND } from '../../shared/procedure/an3155.ts'
import { rewriteThroughBootRom } from '../../shared/rehearse/boot-rom.ts'
import { standInImage } from '../../shared/rehearse/image.ts'
import { recoveryFor } from '../../shared/rehearse/recovery.ts'
import { type Rehearsal, rehearse } from '../../shared/rehearse/rehearse.ts'
import { addressMapOf } from '../../shared/sim/address-map.ts'
import { chipFor } from '../../shared/sim/boot-rom-commands.ts'
import {
  blankMemory,
  bootLoaderImage,
  bootLoaderWhole,
  type ReceiverMemory,
} from '../../shared/sim/memory.ts'
import { FLASH_OP } from '../../shared/sim/trace.ts'
import type { CutPoint } from '../../shared/sim/world.ts'

/**
 * A receiver whose boot loader is damaged, from the power cut that damaged it to the update that ends well: every
 * recovery here is carried out by the simulated chip.
 */
const bench = demoBench()
const heron = findType(bench.catalogue, 'receiverTypes', 'tamsin-heron-8') as ReceiverType
const wren = findType(bench.catalogue, 'receiverTypes', 'aldwick-wren-6') as ReceiverType

function convert(cut?: CutPoint): Rehearsal {
  const done = rehearse(
    {
      bench,
      receiverId: 'heron-biplane',
      image: { kind: 'bench', imageId: 'heron-8-2.0.0' },
      route: 'cable',
      seed: 7,
      faults: [],
      dropOutside: false,
    },
    cut ? { cut } : {},
  )
  if (!done.ok) throw new Error(done.problems[0].message)
  return done.value
}

/** Something that is no boot loader, and no erased flash either. */
function damaged(type: ReceiverType) {
  const memory = blankMemory(type)
  memory.boot.octets.fill(0x5a, 100, 3000)
  memory.program.octets.fill(0xa5)
  memory.record.octets.fill(0x33)
  return memory
}

const holdsShipped = ({ boot }: ReceiverMemory) =>
  Buffer.compare(boot.octets, bootLoaderImage(1, boot.octets.length)) === 0

describe('power cut while a conversion replaces the boot loader', () => {
  const clean = convert()
  const kinds = [...clean.trace.flash.kind]
  const replacing = kinds.flatMap((kind, index) =>
    kind === FLASH_OP.bootErase || kind === FLASH_OP.bootProgram ? [index] : [],
  )

  it('the conversion does replace it, page by page', () => {
    expect(clean.report.outcome).toBe('updated')
    expect(replacing).toHaveLength(16)
  })

  for (const when of ['before', 'during', 'after'] as const)
    it(`${when} each flash operation, comes back to updated`, () => {
      const outcomes = replacing.map(index => {
        const { report } = convert({ at: 'flash-op', index, when })
        if (report.outcome !== 'updated') expect(report.recovery?.rehearsed.outcome).toBe('updated')
        // Eight pages take at least 160 ms to erase, and 16 KiB at 40 us a half-word at least 327 ms to program.
        if (report.outcome === 'needs-boot-rom')
          expect(report.recovery?.rehearsed.simulatedMs).toBeGreaterThan(487)
        return report.outcome
      })
      // Before the first operation the old one is whole, after the last one the new one is.
      const whole = when === 'before' ? 0 : when === 'after' ? outcomes.length - 1 : -1
      outcomes.forEach((outcome, i) => {
        if (i === whole) expect(outcome).toBe('updated')
        else expect(outcome).toBe('needs-boot-rom')
      })
    })
})

describe('rewriteThroughBootRom', () => {
  it.each([
    ['by Erase', heron],
    ['by Extended Erase', wren],
  ])('%s, brings back the boot loader and touches nothing else', (_title, type) => {
    const memory = damaged(type)
    const { result, simulatedMs, trace } = rewriteThroughBootRom(memory, type, 1)
    expect(result).toMatchObject({ ended: 'done', started: true, attempts: 1, retries: 0, chipId: 0x410 })
    expect(holdsShipped(memory)).toBe(true)
    expect(memory.program.octets.every(octet => octet === 0xa5)).toBe(true)
    expect(memory.record.octets.every(octet => octet === 0x33)).toBe(true)
    expect([...memory.boot.wear]).toEqual(Array(8).fill(1))
    expect([...trace.phases].map(p => p.id)).toEqual([
      'enter',
      'identify',
      'erase',
      'write',
      'verify',
      'restart',
    ])
    // Line and flash alone, at their fastest: 8 erases, all half-words, 258 characters out and 257 back for each block.
    const bytes = memory.boot.octets.length
    const leastMs = 8 * 20 + (bytes / 2) * 0.04 + (bytes / 256) * ((258 + 257) * 11 * 1000) * (1 / 115_200)
    expect(simulatedMs).toBeGreaterThan(leastMs)
    expect(simulatedMs).toBeLessThan(1.6 * leastMs)
  })

  it('takes the same time for the same seed, and another for another', () => {
    const ms = (seed: number) => rewriteThroughBootRom(damaged(heron), heron, seed).simulatedMs
    expect(ms(5)).toBe(ms(5))
    expect(ms(5)).not.toBe(ms(6))
  })

  it.each(['before', 'during', 'after'] as const)(
    'cut %s any flash operation, says so, and works again',
    when => {
      const clean = rewriteThroughBootRom(damaged(heron), heron, 3)
      expect(clean.flashOperations).toBe(8 + 64)
      for (let index = 0; index < clean.flashOperations; index++) {
        const memory = damaged(heron)
        const broken = rewriteThroughBootRom(memory, heron, 3, { cut: { at: 'flash-op', index, when } })
        expect(broken.result).toMatchObject({ ended: 'failed' })
        const again = rewriteThroughBootRom(memory, heron, 4)
        expect(again.result).toMatchObject({ ended: 'done', attempts: 1 })
        expect(holdsShipped(memory)).toBe(true)
      }
    },
  )

  it('cut at any effect, ends, and works again', () => {
    const { effects } = rewriteThroughBootRom(damaged(heron), heron, 3)
    for (let index = 0; index < effects; index += 7) {
      const memory = damaged(heron)
      const broken = rewriteThroughBootRom(memory, heron, 3, { cut: { at: 'effect', index } })
      // What was written and read back before the cut stays written, even if nobody answers to Go.
      if (broken.result.ended === 'done') expect(bootLoaderWhole(memory)).toBe(true)
      expect(rewriteThroughBootRom(memory, heron, 4).result.ended).toBe('done')
      expect(holdsShipped(memory)).toBe(true)
    }
  })

  it.each([undefined, 25])(
    'gets through noise, whatever the chip does in a pause (%s ms)',
    octetTimeoutMs => {
      let retries = 0
      for (let seed = 0; seed < 12; seed++) {
        const memory = damaged(heron)
        const table = { bitErrorRate: 2e-5, ...(octetTimeoutMs === undefined ? {} : { octetTimeoutMs }) }
        const { result } = rewriteThroughBootRom(memory, heron, seed, table)
        expect(result.ended).toBe('done')
        expect(holdsShipped(memory)).toBe(true)
        retries += result.retries
      }
      expect(retries).toBeGreaterThan(12)
    },
  )

  it('without the boot pin held finds nobody, and says what to do', () => {
    const memory = damaged(heron)
    const before = memory.boot.octets.slice()
    const { result } = rewriteThroughBootRom(memory, heron, 1, { bootPinHeld: false })
    expect(result).toMatchObject({ ended: 'failed', code: 'no-answer', retries: 9 })
    expect(result.ended === 'failed' && result.text).toContain('boot pin')
    expect(memory.boot.octets).toEqual(before)
  })

  it('says plainly that a chip is read-out protected, and leaves it as it is', () => {
    const memory = damaged(heron)
    const chip = { ...chipFor(addressMapOf(heron, memory).pages, 2), readOutProtected: true }
    const { result, flashOperations } = rewriteThroughBootRom(memory, heron, 1, { chip })
    expect(result).toMatchObject({ ended: 'failed', code: 'read-out-protected', attempts: 1 })
    expect(result.ended === 'failed' && result.text).toContain('read-out protected')
    expect(flashOperations).toBe(0)
  })

  it('finds by reading back that pages are write-protected', () => {
    const memory = damaged(heron)
    const chip = { ...chipFor(addressMapOf(heron, memory).pages, 2), writeProtectedPages: new Set([1]) }
    const { result } = rewriteThroughBootRom(memory, heron, 1, { chip })
    expect(result).toMatchObject({ ended: 'failed', code: 'verify-differs', attempts: 3 })
  })

  it('takes a chip with Extended Erase as it comes', () => {
    const memory = damaged(heron)
    const chip = { ...chipFor(addressMapOf(heron, memory).pages, 2), eraseCommand: COMMAND.extendedErase }
    expect(rewriteThroughBootRom(memory, heron, 1, { chip }).result.ended).toBe('done')
    expect(holdsShipped(memory)).toBe(true)
  })
})

describe('a recovery whose chip cannot be written', () => {
  it('says so, stops there, and does not claim an update', () => {
    // No supply that its label allows is enough to start it.
    const type = { ...heron, supply: { ...heron.supply, restartVolts: 30 } }
    const image = standInImage(type, 3)
    if (!image.ok) throw new Error(image.problems[0].message)
    const recovery = recoveryFor({
      bench,
      receiverId: 'heron-scale',
      type,
      route: 'cable',
      image: image.value,
      faults: [],
      outcome: 'needs-boot-rom',
      memory: damaged(type),
      seed: 1,
    })
    expect(recovery?.rehearsed.outcome).toBe('needs-boot-rom')
    expect(recovery?.rehearsed.simulatedMs).toBeGreaterThan(100)
    expect(recovery?.steps.at(-1)?.text).toContain('failed')
    expect(recovery?.steps.some(s => s.text.startsWith('Start the update'))).toBe(false)
  })
})
