import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import MemoryMap from 'nrf-intel-hex'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { readIntelHex } from '../../shared/image/intel-hex.ts'
import { mergeSegments, type Segment } from '../../shared/image/segments.ts'
import { type HexWriteOptions, writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { needs, titled } from '../support/needs.ts'

/**
 * Intel, Hexadecimal Object File Format Specification, revision A (1988). Records: reference values, section 5.1,
 * where SRecord 1.64 read and wrote them. Two independent readers: Debian's srec_cat, and nrf-intel-hex from npm.
 */
const END = ':00000001FF'
const file = (...lines: string[]): string => [...lines, END, ''].join('\n')
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text)

function read(text: string): readonly Segment[] {
  const result = readIntelHex(text, 'x.hex')
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return result.value.segments
}

/** Segments that do not overlap, in any order, some touching; addresses low enough for `space`. */
const segmentLists = (space: number): fc.Arbitrary<Segment[]> =>
  fc
    .array(fc.tuple(fc.nat(space - 1), fc.uint8Array({ minLength: 1, maxLength: 300 })), {
      minLength: 1,
      maxLength: 5,
    })
    .map(list => {
      const taken: Segment[] = []
      for (const [address, octets] of list) {
        const fits = address + octets.length <= space
        const free = taken.every(
          s => address + octets.length <= s.address || s.address + s.octets.length <= address,
        )
        if (fits && free) taken.push({ address, octets })
      }
      return taken
    })
    .filter(list => list.length > 0)

const options: fc.Arbitrary<HexWriteOptions> = fc.record({
  recordOctets: fc.integer({ min: 1, max: 255 }),
  lineEnd: fc.constantFrom('\n', '\r\n'),
})

function merged(segments: readonly Segment[]): readonly Segment[] {
  const result = mergeSegments(segments)
  if (!result.ok) throw new Error('overlap')
  return result.value
}

describe('records of the specification', () => {
  it.each([
    [':0300300002337A1E', 0x30, [0x02, 0x33, 0x7a]],
    [':0B0010006164647265737320676170A7', 0x10, [...bytes('address gap')]],
  ])('%s', (line, address, octets) => {
    expect(read(file(line))).toEqual([{ address, octets: Uint8Array.from(octets) }])
  })

  it('segmented and linear bases', () => {
    expect(read(file(':020000021200EA', ':0400100001020304E2'))[0].address).toBe(0x12010)
    expect(read(file(':020000040800F2', ':0400100001020304E2'))[0].address).toBe(0x08000010)
    expect(read(file(':020000021000EC', ':09234000313233343536373839B7'))[0].address).toBe(0x12340)
  })

  it('start records are kept', () => {
    const linear = readIntelHex(file(':0300300002337A1E', ':0400000508000131BD'), 'x')
    expect(linear.ok && linear.value.startLinear).toBe(0x08000131)
    const segment = readIntelHex(file(':0300300002337A1E', ':0400000300003800C1'), 'x')
    expect(segment.ok && segment.value.startSegment).toEqual({ cs: 0, ip: 0x3800 })
  })

  it('123456789 at 0x08000000 with entry 0x08000131 is written as the reference has it', () => {
    const text = writeIntelHex([{ address: 0x08000000, octets: bytes('123456789') }], {
      startLinear: 0x08000131,
    })
    expect(text).toBe(file(':020000040800F2', ':090000003132333435363738391A', ':0400000508000131BD'))
  })

  it('in a segment the address wraps ([DRLO + DRI] MOD 64K); in linear addressing it runs on', () => {
    const data = ':08FFFC000001020304050607E1'
    expect(read(file(':020000021000EC', data)).map(s => s.address)).toEqual([0x10000, 0x1fffc])
    expect(read(file(':020000040800F2', data)).map(s => s.address)).toEqual([0x0800fffc])
  })
})

/** Its own arithmetic is signed, so it is asked only about the lower 2 GiB. */
describe('against nrf-intel-hex, an independent reader and writer', () => {
  it('reads what we write', () => {
    fc.assert(
      fc.property(segmentLists(2 ** 31), options, (segments, how) => {
        const map = MemoryMap.fromHex(writeIntelHex(segments, how))
        const theirs = [...map.join().entries()].map(([address, octets]) => ({ address, octets }))
        expect(merged(theirs.map(s => ({ ...s, octets: Uint8Array.from(s.octets) })))).toEqual(
          merged(segments),
        )
      }),
    )
  })

  it('writes what we read', () => {
    fc.assert(
      fc.property(segmentLists(2 ** 31), fc.integer({ min: 1, max: 64 }), (segments, length) => {
        const map = new MemoryMap(merged(segments).map(s => [s.address, s.octets]))
        expect(read(map.asHexString(length))).toEqual(merged(segments))
      }),
    )
  })
})

describe.skipIf(needs('srec_cat') === undefined)(titled('against srec_cat', 'srec_cat'), () => {
  let folder: string
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'preflash-hex-'))
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  const srecCat = (...args: string[]) =>
    execFileSync(needs('srec_cat') as string, args, { cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] })
  const octetsAt = (name: string) => new Uint8Array(readFileSync(join(folder, name)))

  /** The memory from the lowest address on as srec_cat sees it, through its own binary output. */
  function theirView(hex: string, segments: readonly Segment[]): Segment[] {
    writeFileSync(join(folder, 'ours.hex'), hex)
    return merged(segments).map(({ address, octets }) => {
      const [from, to] = [address, address + octets.length].map(String)
      srecCat('ours.hex', '-intel', '-crop', from, to, '-offset', `-${from}`, '-o', 'part.bin', '-binary')
      return { address, octets: octetsAt('part.bin') }
    })
  }

  it('reads what we write: linear', () => {
    fc.assert(
      fc.property(segmentLists(2 ** 31), options, (segments, how) => {
        expect(theirView(writeIntelHex(segments, how), segments)).toEqual(merged(segments))
      }),
      { numRuns: 25 },
    )
  })

  it('reads what we write: segmented', () => {
    fc.assert(
      fc.property(segmentLists(2 ** 20), options, (segments, how) => {
        const hex = writeIntelHex(segments, { ...how, addressing: 'segmented' })
        expect(theirView(hex, segments)).toEqual(merged(segments))
      }),
      { numRuns: 25 },
    )
  })

  it.each([
    ['linear', '-address-length=4', ':02000002'],
    ['segmented', '-address-length=3', ':02000004'],
  ])('writes what we read: %s', (_title, addressing, absent) => {
    fc.assert(
      fc.property(segmentLists(2 ** 20), fc.integer({ min: 1, max: 60 }), (segments, blockSize) => {
        const inputs = merged(segments).flatMap(({ address, octets }, i) => {
          writeFileSync(join(folder, `in${i}.bin`), octets)
          return [`in${i}.bin`, '-binary', '-offset', String(address)]
        })
        srecCat(...inputs, '-o', 'theirs.hex', '-intel', addressing, `-obs=${blockSize}`)
        const hex = readFileSync(join(folder, 'theirs.hex'), 'latin1')
        expect(hex).not.toContain(absent)
        expect(read(hex)).toEqual(merged(segments))
      }),
      { numRuns: 25 },
    )
  })

  it('agrees which checksum is wrong', () => {
    const damaged = file(':0300300002337A1F')
    writeFileSync(join(folder, 'damaged.hex'), damaged)
    expect(() => srecCat('damaged.hex', '-intel', '-o', 'out.bin', '-binary')).toThrow()
    const ours = readIntelHex(damaged, 'damaged.hex')
    expect(ours.ok).toBe(false)
    expect(!ours.ok && ours.problems[0]).toMatchObject({
      code: 'hex.checksum',
      line: 1,
      expected: 'checksum 1E',
    })
  })
})
