import { crc32 as zlibCrc32 } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { announcementOf } from '../../shared/procedure/announce.ts'
import { ADDRESS, announcementBody, body, KIND, REPLY_BIT } from '../../shared/procedure/bus.ts'
import { benchImage } from '../../shared/rehearse/image.ts'
import { memoryOf } from '../../shared/rehearse/table.ts'
import {
  blankMemory,
  bootLoaderImage,
  bootLoaderWhole,
  identityOf,
  install,
  type ReceiverMemory,
  recordsOf,
  startable,
} from '../../shared/sim/memory.ts'
import { encodeRecord, type ImageRecord } from '../../shared/sim/record.ts'
import { FLASH_OP } from '../../shared/sim/trace.ts'
import { receiverRig } from '../support/receiver-rig.ts'
import { smallBench } from '../support/small-bench.ts'

const bench = smallBench()
const type = bench.catalogue.receiverTypes[0]
const payload = Uint8Array.from({ length: 3000 }, (_, i) => (i * 11) & 0xff)
const about = { typeCode: 1, version: { major: 1, minor: 2, patch: 3 }, sequenceNumber: 5, generation: 3 }

function putRecord(memory: ReceiverMemory, page: number, change: Partial<ImageRecord>): void {
  const whole = { ...about, count: 1, length: payload.length, crc32: zlibCrc32(payload) }
  memory.record.octets.set(encodeRecord({ ...whole, ...change }), page * memory.record.pageBytes)
}
function holding(...records: readonly Partial<ImageRecord>[]): ReceiverMemory {
  const memory = blankMemory(type)
  memory.program.octets.set(payload)
  records.forEach((record, page) => putRecord(memory, page, record))
  return memory
}

describe('what the boot loader starts', () => {
  it.each([
    [0, 1],
    [1, 0],
  ])('is the newest record that is whole, wherever it lies (pages %i and %i)', (newer, older) => {
    const memory = blankMemory(type)
    memory.program.octets.set(payload)
    putRecord(memory, newer, { count: 9 })
    putRecord(memory, older, { count: 8 })
    expect(recordsOf(memory).map(({ page }) => page)).toEqual([newer, older])
    expect(startable(memory)?.count).toBe(9)
    // The newer one states an image that is not there: its length or its CRC-32 differs.
    for (const change of [{ length: payload.length - 1 }, { crc32: zlibCrc32(payload) ^ 1 }]) {
      putRecord(memory, newer, { count: 9, ...change })
      expect(startable(memory)?.count).toBe(8)
    }
  })

  it('is an image of all of program flash too, but not one octet more, and not one of no octets', () => {
    const bytes = type.flash.programBytes
    const full = holding()
    full.program.octets.set(Uint8Array.from({ length: bytes }, (_, i) => (i * 11) & 0xff))
    const crc = zlibCrc32(full.program.octets)
    putRecord(full, 0, { length: bytes, crc32: crc })
    expect(startable(full)?.length).toBe(bytes)
    putRecord(full, 0, { length: bytes + 1, crc32: crc })
    expect(startable(full)).toBeUndefined()
    // CRC-32 of nothing is 0, so a record of nothing would hold.
    putRecord(full, 0, { length: 0, crc32: zlibCrc32(new Uint8Array(0)) })
    expect(startable(full)).toBeUndefined()
  })

  it('is what was installed, with the CRC-32 that zlib computes (RFC 1952, section 8), and who says so', () => {
    const memory = blankMemory(type)
    install(memory, payload, about)
    expect(startable(memory)).toEqual({ ...about, count: 1, length: 3000, crc32: zlibCrc32(payload) })
    expect(identityOf(type, memory, false, 56)).toMatchObject({
      firmware: about.version,
      generation: 3,
      pageBytes: type.flash.pageBytes,
      programPages: type.flash.programBytes / type.flash.pageBytes,
    })
    memory.program.octets[0] ^= 1
    expect(identityOf(type, memory, true, 56)).toMatchObject({
      inBootLoader: true,
      firmware: { major: 0, minor: 0, patch: 0 },
      generation: 0,
    })
  })
})

describe('the boot loader', () => {
  it('carries the CRC-32 of zlib over the rest of it at its end, and its version', () => {
    for (const version of [1, 2]) {
      const image = bootLoaderImage(version, 8192)
      const view = new DataView(image.buffer)
      expect(view.getUint32(8188)).toBe(zlibCrc32(image.subarray(0, 8188)))
      expect(view.getUint32(8)).toBe(version)
    }
    expect(bootLoaderImage(1, 8192)).not.toEqual(bootLoaderImage(2, 8192))
  })

  it('is not whole in flash that is erased, blank, or half replaced by a newer one', () => {
    const memory = blankMemory(type)
    const { octets } = memory.boot
    for (const fill of [0xff, 0x00]) {
      octets.fill(fill)
      expect(bootLoaderWhole(memory)).toBe(false)
    }
    octets.set(bootLoaderImage(1, octets.length))
    const newer = bootLoaderImage(2, octets.length)
    for (let page = 0; page < memory.boot.wear.length; page++) {
      const from = page * memory.boot.pageBytes
      octets.set(newer.subarray(from, from + memory.boot.pageBytes), from)
      expect(bootLoaderWhole(memory)).toBe(page === memory.boot.wear.length - 1)
    }
  })
})

describe('the record pages as a receiver writes them', () => {
  const ready = benchImage(bench, type, 'wren-6-2.4.0')
  if (!ready.ok) throw new Error(ready.problems[0].message)
  const { card, payload: image } = ready.value
  const to = (kind: number) => body(ADDRESS.receiver, kind)

  /** A receiver that has the whole new image in flash and is only to be told that it is valid. */
  function readyToCommit(memory = memoryOf(bench, type, bench.receivers[0])) {
    const rig = receiverRig(bench, 'wren-trainer', memory)
    rig.wait(1500)
    rig.ask(to(KIND.enter))
    rig.wait(200)
    rig.ask(announcementBody(ADDRESS.receiver, announcementOf(card, type)))
    memory.program.octets.fill(0xff)
    memory.program.octets.set(image)
    return { memory, ...rig }
  }

  it('take turns: each update leaves the record before it, and counts one up', () => {
    const { memory, ...rig } = readyToCommit()
    const seen: string[] = []
    for (let i = 0; i < 4; i++) {
      expect(rig.ask(to(KIND.commit))?.[1]).toBe(KIND.commit | REPLY_BIT)
      seen.push(
        recordsOf(memory)
          .map(({ page, record }) => `${page}:${record.count}`)
          .join(' '),
      )
    }
    expect(seen).toEqual(['1:2 0:1', '0:3 1:2', '1:4 0:3', '0:5 1:4'])
    expect([...memory.record.wear]).toEqual([2, 2])
  })

  it('lose the older record alone when power fails at any moment of writing the newer', () => {
    const torn = new Set<number>()
    for (let micros = 100; micros < 45_000; micros += 150) {
      const { memory, ...rig } = readyToCommit()
      rig.ask(to(KIND.commit))
      const [last] = recordsOf(memory)
      rig.ask(to(KIND.commit), micros / 1000)
      rig.rail.cut('a test')
      expect(recordsOf(memory).map(({ record }) => record)).toContainEqual(last.record)
      // The image is there, so whichever record is read, it can be started.
      expect(startable(memory)?.count).toBeGreaterThanOrEqual(last.record.count)
      const { flash } = rig.trace.done(rig.kernel.nowNs)
      for (let i = 0; i < flash.count; i++) if (flash.torn[i]) torn.add(flash.kind[i])
    }
    expect(torn).toEqual(new Set([FLASH_OP.recordErase, FLASH_OP.recordProgram]))
  })
})
