import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { inspectImage } from '../../shared/image/inspect.ts'
import { readSRecords } from '../../shared/image/s-record.ts'
import { mergeSegments, type Segment } from '../../shared/image/segments.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { type SRecordWriteOptions, writeSRecords } from '../../shared/image/write-s-record.ts'
import { needs, titled } from '../support/needs.ts'

/** Motorola S-records against the M68000 family reference's appendix and against Debian's srec_cat. */
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text)

function read(text: string): readonly Segment[] {
  const result = readSRecords(text, 'x.s19')
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return result.value.segments
}

/** Segments that do not overlap; addresses low enough for `space`. */
const segmentLists = (space: number): fc.Arbitrary<readonly Segment[]> =>
  fc
    .array(fc.tuple(fc.nat(space - 1), fc.uint8Array({ minLength: 1, maxLength: 300 })), {
      minLength: 1,
      maxLength: 5,
    })
    .map(list => {
      const taken: Segment[] = []
      for (const [address, octets] of list) {
        const free = taken.every(
          s => address + octets.length <= s.address || s.address + s.octets.length <= address,
        )
        if (free && address + octets.length <= space) taken.push({ address, octets })
      }
      return merged(taken)
    })
    .filter(list => list.length > 0)

function merged(segments: readonly Segment[]): readonly Segment[] {
  const result = mergeSegments(segments)
  if (!result.ok) throw new Error('overlap')
  return result.value
}

describe('records of the reference', () => {
  it.each([
    ['S10C010031323334353637383915', 0x100, '123456789'],
    ['S20D012340313233343536373839B1', 0x12340, '123456789'],
    ['S207012340313233FE', 0x12340, '123'],
    ['S30E080000003132333435363738390C', 0x08000000, '123456789'],
    ['S309080000003132333424', 0x08000000, '1234'],
  ])('%s', (line, address, text) => {
    const end = { 1: 'S9030000FC', 2: 'S804000000FB', 3: 'S70500000000FA' }[line[1]] as string
    expect(readSRecords(`${line}\n${end}\n`, 'x')).toMatchObject({ ok: true, warnings: [] })
    expect(read(`${line}\n${end}\n`)).toEqual([{ address, octets: bytes(text) }])
  })

  it('a complete file with header, three data records, count and end', () => {
    const lines = [
      'S00F000068656C6C6F202020202000003C',
      'S11F00007C0802A6900100049421FFF07C6C1B787C8C23783C6000003863000026',
      'S11F001C4BFFFFE5398000007D83637880010014382100107C0803A64E800020E9',
      'S111003848656C6C6F20776F726C642E0A0042',
      'S5030003F9',
      'S9030000FC',
    ]
    const [segment, ...others] = read(lines.join('\n'))
    expect(others).toEqual([])
    expect([segment.address, segment.octets.length]).toEqual([0, 0x46])
    expect(new TextDecoder().decode(segment.octets.subarray(0x38))).toBe('Hello world.\n\0')
    for (const text of [lines.join('\n').replace('7C08', '7C09'), lines.toSpliced(2, 1).join('\n')])
      expect(readSRecords(text, 'x').ok).toBe(false)
  })

  it('the same records are written, to the character', () => {
    const written = (address: number, options: SRecordWriteOptions = {}) =>
      writeSRecords([{ address, octets: bytes('123456789') }], options)
        .trim()
        .split('\n')
    expect(written(0x100, { header: 'HDR' })).toEqual([
      'S00600004844521B',
      'S10C010031323334353637383915',
      'S5030001FB',
      'S9030000FC',
    ])
    expect(written(0x12340, { startAddress: 0x12340 }).slice(1)).toEqual([
      'S20D012340313233343536373839B1',
      'S5030001FB',
      'S80401234097',
    ])
    expect(written(0x08000000, { startAddress: 0x08000131 }).slice(1)).toEqual([
      'S30E080000003132333435363738390C',
      'S5030001FB',
      'S70508000131C0',
    ])
  })
})

describe.skipIf(needs('srec_cat') === undefined)(titled('against srec_cat', 'srec_cat'), () => {
  let folder: string
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'preflash-srec-'))
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  const srecCat = (...args: string[]) =>
    execFileSync(needs('srec_cat') as string, args, { cwd: folder, stdio: ['ignore', 'pipe', 'pipe'] })

  /** What srec_cat makes of a file of ours, segment by segment, through its own binary output. */
  function theirView(text: string, segments: readonly Segment[]): Segment[] {
    writeFileSync(join(folder, 'ours.s19'), text)
    return segments.map(({ address, octets }) => {
      const [from, to] = [address, address + octets.length].map(String)
      srecCat('ours.s19', '-motorola', '-crop', from, to, '-offset', `-${from}`, '-o', 'part.bin', '-binary')
      return { address, octets: new Uint8Array(readFileSync(join(folder, 'part.bin'))) }
    })
  }

  /** The same octets as srec_cat writes them. */
  function theirs(segments: readonly Segment[], ...output: string[]): string {
    const inputs = segments.flatMap(({ address, octets }, i) => {
      writeFileSync(join(folder, `in${i}.bin`), octets)
      return [`in${i}.bin`, '-binary', '-offset', String(address)]
    })
    srecCat(...inputs, '-o', 'theirs.txt', ...output)
    return readFileSync(join(folder, 'theirs.txt'), 'latin1')
  }

  it.each([16, 24, 32] as const)('reads what we write with %i bits of address', addressBits => {
    const options = fc.record({
      recordOctets: fc.integer({ min: 1, max: 250 }),
      lineEnd: fc.constantFrom('\n' as const, '\r\n' as const),
      count: fc.boolean(),
    })
    fc.assert(
      fc.property(segmentLists(Math.min(2 ** addressBits, 2 ** 31)), options, (segments, how) => {
        const text = writeSRecords(segments, { ...how, addressBits, header: 'wren' })
        expect(theirView(text, segments)).toEqual(segments)
      }),
      { numRuns: 15 },
    )
  })

  it.each([
    ['the fewest bits that do', 1, 2 ** 16],
    ['the fewest bits that do', 1, 2 ** 24],
    ['the fewest bits that do', 1, 2 ** 31],
    ['24 bits throughout', 3, 2 ** 24],
    ['32 bits throughout', 4, 2 ** 31],
  ])('writes what we read: %s', (_title, length, space) => {
    fc.assert(
      fc.property(segmentLists(space), fc.integer({ min: 1, max: 60 }), (segments, blockSize) => {
        const text = theirs(segments, '-motorola', `-obs=${blockSize}`, `-address-length=${length}`)
        const result = readSRecords(text, 'theirs.s19')
        expect(result).toMatchObject({ ok: true, warnings: [] })
        expect(result.ok && result.value.segments).toEqual(segments)
      }),
      { numRuns: 15 },
    )
  })

  it('turns our Intel HEX into S-records, and our S-records into Intel HEX, that we read as the same image', () => {
    fc.assert(
      fc.property(segmentLists(2 ** 20), fc.constantFrom('linear', 'segmented'), (segments, addressing) => {
        writeFileSync(
          join(folder, 'a.hex'),
          writeIntelHex(segments, { addressing: addressing as 'linear' | 'segmented' }),
        )
        writeFileSync(join(folder, 'b.s19'), writeSRecords(segments))
        srecCat('a.hex', '-intel', '-o', 'a.s19', '-motorola')
        const length = addressing === 'linear' ? 4 : 3
        srecCat('b.s19', '-motorola', '-o', 'b.hex', '-intel', `-address-length=${length}`)
        for (const [name, format] of [
          ['a.s19', 's-record'],
          ['b.hex', 'intel-hex'],
        ]) {
          const read = inspectImage(new Uint8Array(readFileSync(join(folder, name))), name, { rawAddress: 0 })
          expect(read.ok && [read.value.format, read.value.segments]).toEqual([format, segments])
        }
      }),
      { numRuns: 20 },
    )
  })

  it.skipIf(needs('microbit-hex') === undefined)(
    titled('a shipped Intel HEX file as S-records is the same image, both ways', 'microbit-hex'),
    () => {
      const path = needs('microbit-hex') as string
      const inspect = (octets: Uint8Array) => {
        const result = inspectImage(octets, 'x', { rawAddress: 0 })
        if (!result.ok) throw new Error(JSON.stringify(result.problems))
        return result.value
      }
      const original = inspect(new Uint8Array(readFileSync(path)))
      srecCat(path, '-intel', '-o', 'shipped.s37', '-motorola', '-address-length=4')
      const converted = inspect(new Uint8Array(readFileSync(join(folder, 'shipped.s37'))))
      expect(converted.format).toBe('s-record')
      expect(converted.segments).toEqual(original.segments)
      expect(converted.sha256).toBe(original.sha256)
      expect(theirView(writeSRecords(original.segments), original.segments)).toEqual(original.segments)
    },
  )

  it.skipIf(needs('fx2lafw-images') === undefined)(
    titled('a shipped raw image as S-records is the same image', 'fx2lafw-images'),
    () => {
      const octets = new Uint8Array(readFileSync(needs('fx2lafw-images') as string))
      expect(read(theirs([{ address: 0, octets }], '-motorola'))).toEqual([{ address: 0, octets }])
      expect(theirView(writeSRecords([{ address: 0, octets }]), [{ address: 0, octets }])[0].octets).toEqual(
        octets,
      )
    },
  )

  it('agrees which checksum is wrong', () => {
    const damaged = 'S10C010031323334353637383916\nS9030000FC\n'
    writeFileSync(join(folder, 'damaged.s19'), damaged)
    expect(() => srecCat('damaged.s19', '-motorola', '-o', 'out.bin', '-binary')).toThrow()
    const ours = readSRecords(damaged, 'damaged.s19')
    expect(!ours.ok && ours.problems[0]).toMatchObject({
      code: 's-record.checksum',
      line: 1,
      expected: 'checksum 15',
    })
  })
})
