import { createHash } from 'node:crypto'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { inspectImage } from '../../shared/image/inspect.ts'
import { readUf2, sayFamily } from '../../shared/image/uf2.ts'
import { alignUp, isUf2Block, readUf2Block, UF2_TAGS } from '../../shared/image/uf2-block.ts'
import { checkUf2Blocks, forFlash, whatTagsSay } from '../../shared/image/uf2-contents.ts'
import { writeUf2 } from '../../shared/image/write-uf2.ts'
import { sayProblem } from '../../shared/model/problem.ts'

const FAMILY = 0x5ee21072
const octets = Uint8Array.from({ length: 1000 }, (_, i) => (i * 7 + 3) & 0xff)
const good = writeUf2([{ address: 0x08004000, octets }], { familyId: FAMILY })

/** The file with one word of one block (from 0) set anew. */
function changed(block: number, offset: number, value: number, file = good): Uint8Array {
  const copy = file.slice()
  new DataView(copy.buffer).setUint32(block * 512 + offset, value, true)
  return copy
}
const joined = (...files: readonly Uint8Array[]) => Uint8Array.from(files.flatMap(f => [...f]))
const blocksOf = (file: Uint8Array, ...order: number[]) =>
  joined(...order.map(n => file.subarray(n * 512, (n + 1) * 512)))
const problemsOf = (file: Uint8Array, familyId?: number) => {
  const result = readUf2(file, 'wren.uf2', { familyId })
  return result.ok ? [] : result.problems
}
const read = (file: Uint8Array, familyId?: number) => {
  const result = readUf2(file, 'wren.uf2', { familyId })
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return result
}

describe('what is wrong is said with block, expectation and remedy', () => {
  it.each([
    ['uf2.magic', 'block 1', changed(0, 508, 0)],
    ['uf2.magic', 'block 3', changed(2, 0, 0x0a324656)],
    ['uf2.magic', 'block 2', changed(1, 4, 0)],
    ['uf2.payload', 'block 2', changed(1, 16, 477)],
    ['uf2.payload', 'block 2', changed(1, 16, 0xffff_ffff)],
    ['uf2.number', 'block 4', changed(3, 20, 4)],
    ['uf2.address', 'block 1', changed(0, 12, 0xffff_ff80)],
    ['uf2.container', 'block 1', changed(0, 8, 0x1000)],
    ['uf2.total', 'block 2', changed(1, 24, 9)],
    ['uf2.repeated', 'block 3', changed(2, 20, 1)],
    ['uf2.missing', 'block 4', good.subarray(0, 3 * 512)],
    ['uf2.missing', 'block 2', blocksOf(good, 0, 2, 3)],
    ['uf2.cut-off', 'block 4', good.subarray(0, 4 * 512 - 1)],
    ['uf2.conflict', 'block 2', changed(1, 12, 0x08004080)],
  ])('%s in %s', (code, field, file) => {
    const [problem] = problemsOf(file)
    expect(problem).toMatchObject({ code, field, file: 'wren.uf2' })
    expect(problem.remedy).toBeTruthy()
    expect(problem.expected).toBeTruthy()
    expect(sayProblem(problem)).toContain(`wren.uf2, ${field}: `)
  })

  it('damaged extension tags', () => {
    const tagged = writeUf2([{ address: 0, octets }], {
      tags: [{ type: UF2_TAGS.version, octets: new TextEncoder().encode('0.1.2') }],
    })
    for (const size of [1, 3, 0xdd, 0xff]) {
      const file = tagged.slice()
      file[32 + 256] = size
      expect(problemsOf(file)[0]).toMatchObject({ code: 'uf2.tags', field: 'block 1' })
    }
  })

  it('a file of comments only, or too large, or with many mistakes', () => {
    expect(problemsOf(changed(0, 8, 1, writeUf2([{ address: 0, octets: octets.slice(0, 4) }])))[0].code).toBe(
      'uf2.empty',
    )
    expect(problemsOf(new Uint8Array(16 * 1024 * 1024 + 512))[0].code).toBe('uf2.too-large')
    const problems = problemsOf(new Uint8Array(512 * 100))
    expect(problems).toHaveLength(21)
    expect(problems[20].code).toBe('uf2.more')
  })

  it('a total of four thousand million blocks costs nothing', () => {
    const [problem] = problemsOf(changed(0, 24, 0xffff_ffff, good.slice(0, 512)))
    expect(problem).toMatchObject({ code: 'uf2.missing' })
    expect(problem.message).toContain('4294967294 of 4294967295 blocks are missing: number 1, 2, 3, 4, 5, …')
  })
})

describe('what the specification allows', () => {
  it('blocks in any order, and twice', () => {
    expect(read(blocksOf(good, 3, 1, 0, 2)).value.segments).toEqual(read(good).value.segments)
    const twice = read(blocksOf(good, 0, 1, 1, 2, 3))
    expect(twice.value.segments).toEqual([{ address: 0x08004000, octets }])
    expect(twice.warnings.map(w => [w.code, w.field])).toEqual([['uf2.again', 'block 3']])
  })

  it('blocks that are not for the flash count, but hold nothing for it', () => {
    const result = read(changed(3, 8, 0x2001))
    expect(result.value).toMatchObject({ blocks: 4, comments: 1, familyId: FAMILY })
    expect(result.value.segments).toEqual([{ address: 0x08004000, octets: octets.subarray(0, 768) }])
  })

  it('several families in one file, each with its own numbering; which one has to be said', () => {
    const other = writeUf2([{ address: 0x2000, octets: octets.slice(0, 600) }], { familyId: 0x16573617 })
    const both = joined(other, good)
    expect(problemsOf(both)[0]).toMatchObject({
      code: 'uf2.families',
      message: expect.stringContaining('0x16573617, 0x5EE21072'),
    })
    expect(read(both, FAMILY).value.segments).toEqual([{ address: 0x08004000, octets }])
    expect(read(both, 0x16573617).value.segments[0].address).toBe(0x2000)
    expect(problemsOf(both, 1)[0]).toMatchObject({ code: 'uf2.family' })
    const inspected = inspectImage(both, 'both.uf2', { rawAddress: 0, familyId: FAMILY })
    expect(inspected.ok && inspected.value.lowestAddress).toBe(0x08004000)
    // An image of another family that is not complete is nobody's business here.
    expect(read(joined(other.subarray(0, 512), good), FAMILY).value.blocks).toBe(4)
  })

  it('extension tags in the first block', () => {
    const text = (t: string) => new TextEncoder().encode(t)
    const file = writeUf2([{ address: 0, octets }], {
      tags: [
        { type: UF2_TAGS.version, octets: text('2.4.0') },
        { type: UF2_TAGS.device, octets: text('Wren 6') },
        { type: UF2_TAGS.pageBytes, octets: Uint8Array.of(0, 4, 0, 0) },
      ],
    })
    expect(read(file).value).toMatchObject({ version: '2.4.0', device: 'Wren 6', pageBytes: 1024 })
  })

  it('MD5 sums are checked where the file gives the whole region', () => {
    const file = writeUf2([{ address: 0x1000, octets }], { md5: true })
    expect(read(file)).toMatchObject({ warnings: [] })
    const sum = createHash('md5').update(octets).digest('hex')
    expect(Buffer.from(file.subarray(508 - 16, 508)).toString('hex')).toBe(sum)
    const damaged = file.slice()
    damaged[32] ^= 1
    expect(problemsOf(damaged)[0]).toMatchObject({ code: 'uf2.md5', field: 'block 1', expected: sum })
    let elsewhere = file
    for (let block = 0; block < 4; block++) elsewhere = changed(block, 508 - 24, 0x8000, elsewhere)
    expect(read(elsewhere).warnings.map(w => w.code)).toEqual(['uf2.md5-unchecked'])
  })

  it('no file has more summed up than twice its octets', () => {
    const file = writeUf2([{ address: 0, octets }], { md5: true })
    const blocks = Array.from({ length: 4 }, (_, n) => {
      const block = readUf2Block(file, 512 * n)
      if (!isUf2Block(block)) throw new Error('no block')
      return {
        ordinal: n + 1,
        block: { ...block, md5: { address: n, length: 996, sum: octets.subarray(n, n + 16) } },
      }
    })
    const said: string[] = []
    checkUf2Blocks(blocks, [{ address: 0, octets }], {
      fault: f => said.push(f.code),
      warn: f => said.push(f.code),
    })
    expect(said).toEqual(['uf2.md5', 'uf2.md5', 'uf2.md5-unchecked', 'uf2.md5-unchecked'])
    expect(blocks.every(({ block }) => forFlash(block))).toBe(true)
    expect(whatTagsSay(blocks)).toEqual({})
  })

  it('an address that is no multiple of 4 is warned about', () => {
    const file = writeUf2([{ address: 0x1002, octets: octets.subarray(0, 100) }])
    expect(read(file).warnings.map(w => [w.code, w.field])).toEqual([['uf2.alignment', 'block 1']])
  })
})

it('families are said as people write them', () => {
  expect([sayFamily(FAMILY), sayFamily(undefined)]).toEqual(['0x5EE21072', 'none'])
  expect([0, 1, 4, 5].map(alignUp)).toEqual([0, 4, 4, 8])
})

it('never throws, whatever word is changed, and gives no octet that is not in the file', () => {
  const place = fc.tuple(
    fc.nat(3),
    fc.oneof(
      fc.constantFrom(8, 12, 16, 20, 24, 28),
      fc.nat(127).map(n => 4 * n),
    ),
    fc.oneof(fc.nat(8), fc.nat(0xffff_ffff), fc.constantFrom(0x4000, 0x8000, 0xc000, 0xe000, 0xffff_ffff)),
  )
  fc.assert(
    fc.property(fc.array(place, { minLength: 1, maxLength: 4 }), fc.nat(good.length), (places, length) => {
      const file = places.reduce((f, [block, offset, value]) => changed(block, offset, value, f), good)
      for (const some of [file, file.slice(0, length)]) {
        const result = readUf2(some, 'x')
        if (result.ok)
          expect(result.value.segments.reduce((n, s) => n + s.octets.length, 0)).toBeLessThan(some.length)
        else expect(result.problems.length).toBeGreaterThan(0)
      }
    }),
    { numRuns: 1000 },
  )
})
