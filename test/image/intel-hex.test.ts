import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { MAX_HEX_FILE_BYTES, readIntelHex } from '../../shared/image/intel-hex.ts'
import { mergeSegments } from '../../shared/image/segments.ts'
import { writeIntelHex } from '../../shared/image/write-intel-hex.ts'
import { sayProblem } from '../../shared/model/problem.ts'

const END = ':00000001FF'
const DATA = ':0300300002337A1E'
const file = (...lines: string[]): string => [...lines, END, ''].join('\n')

function record(type: number, address: number, ...data: number[]): string {
  const octets = [data.length, address >> 8, address & 0xff, type, ...data]
  octets.push(-octets.reduce((a, b) => a + b, 0) & 0xff)
  return `:${octets.map(o => o.toString(16).toUpperCase().padStart(2, '0')).join('')}`
}
function problemsOf(text: string | Uint8Array) {
  const result = readIntelHex(text, 'wren.hex')
  return result.ok ? [] : result.problems
}
const warningsOf = (text: string) => {
  const result = readIntelHex(text, 'wren.hex')
  return result.ok ? result.warnings.map(w => [w.code, w.line]) : result.problems
}

describe('what is wrong is said with line, expectation and remedy', () => {
  it.each([
    ['hex.start', 2, file(DATA, 'hello')],
    ['hex.character', 1, file(':03003000O2337A1E')],
    ['hex.odd', 1, file(`${DATA}0`)],
    ['hex.odd', 1, file(DATA.slice(0, -1))],
    ['hex.short', 1, file(':00')],
    ['hex.length', 1, file(`${DATA}00`)],
    ['hex.length', 3, file(DATA, '', DATA.slice(0, -2))],
    ['hex.checksum', 1, file(':0300300002337A1F')],
    ['hex.type', 1, file(record(6, 0))],
    ['hex.record-length', 1, file(record(4, 0, 8))],
    ['hex.record-length', 1, file(record(2, 0, 1, 2, 3))],
    ['hex.record-length', 1, file(record(5, 0))],
    ['hex.record-length', 2, [DATA, record(1, 0, 5)].join('\n')],
    ['hex.after-end', 3, file(DATA) + DATA],
    ['hex.no-end', 1, `${DATA}\n`],
    ['hex.empty', 1, file()],
    ['hex.empty', 2, file(record(0, 0x100))],
    ['hex.conflict', 2, file(DATA, record(0, 0x31, 0x34))],
    ['hex.address', 2, file(record(4, 0, 0xff, 0xff), record(0, 0xffff, 1, 2))],
  ])('%s in line %i', (code, line, text) => {
    const [problem] = problemsOf(text)
    expect(problem).toMatchObject({ code, line, file: 'wren.hex' })
    expect(problem.remedy ?? problem.expected).toBeTruthy()
    expect(sayProblem(problem)).toContain(`line ${line}`)
  })

  it('names the checksum that the line would need', () => {
    expect(problemsOf(file(':0300300002337A1F'))[0].expected).toBe('checksum 1E')
  })

  it('names the line that said otherwise', () => {
    const text = file(DATA, record(0, 0x40, 1), record(0, 0x2e, 9, 9, 2, 0x34))
    expect(problemsOf(text)[0]).toMatchObject({ code: 'hex.conflict', line: 1 })
    expect(problemsOf(text)[0].message).toMatch(/0x0031 .*line 3/)
  })

  it('sees a conflict with a long line behind a short one', () => {
    const text = file(record(0, 0, 1, 2, 3, 4, 5, 6, 7, 8), record(0, 2, 3, 4), record(0, 6, 9, 8))
    expect(problemsOf(text).map(p => [p.code, p.line])).toEqual([['hex.conflict', 3]])
  })

  it('stops after twenty', () => {
    const problems = problemsOf(file(...Array.from({ length: 50 }, () => 'nonsense')))
    expect(problems).toHaveLength(21)
    expect(problems.at(-1)?.code).toBe('hex.more')
  })
})

describe('what may be is read', () => {
  it.each([['\n'], ['\r\n'], ['\r']])(
    'line end %j, blanks, blank lines, a byte-order mark, control-Z',
    end => {
      const text = ['', `${DATA}  `, '', END, '\u001a'].join(end)
      for (const variant of [text, `\uFEFF${text}`, new TextEncoder().encode(`\uFEFF${text}`)])
        expect(readIntelHex(variant, 'x')).toMatchObject({
          ok: true,
          value: { segments: [{ address: 0x30, octets: Uint8Array.of(2, 0x33, 0x7a) }], records: 2 },
        })
    },
  )

  it('small letters, and records in any order', () => {
    const result = readIntelHex(file(record(0, 0x33, 9).toLowerCase(), DATA), 'x')
    expect(result.ok && result.value.segments).toEqual([
      { address: 0x30, octets: Uint8Array.of(2, 0x33, 0x7a, 9) },
    ])
  })

  it('the same octets twice, wrapping and a second start are read with a warning', () => {
    expect(warningsOf(file(DATA, DATA))).toEqual([['hex.duplicate', 2]])
    expect(warningsOf(file(record(2, 0, 0x10, 0), record(0, 0xffff, 1, 2)))).toEqual([['hex.wrap', 2]])
    expect(warningsOf(file(DATA, record(5, 0, 0, 0, 0, 1), record(5, 0, 0, 0, 0, 2)))).toEqual([
      ['hex.start-twice', 3],
    ])
    expect(warningsOf(file(DATA))).toEqual([])
  })
})

describe('hostile files', () => {
  it('too large a file is refused unread', () => {
    expect(problemsOf(new Uint8Array(MAX_HEX_FILE_BYTES + 1))[0].code).toBe('hex.too-large')
  })

  it('more pieces than any image has are refused', () => {
    const lines = Array.from({ length: 5000 }, (_, i) => record(0, 2 * i, 1))
    expect(problemsOf(file(...lines)).map(p => p.code)).toEqual(['hex.scattered'])
  })

  it('any octets at all give an image or problems, never an exception', () => {
    const lineLike = fc
      .array(fc.constantFrom(...':0123456789ABCDEFabcdef \r\n\tg'.split('')), { maxLength: 200 })
      .map(list => list.join(''))
    fc.assert(
      fc.property(fc.oneof(fc.uint8Array({ maxLength: 200 }), lineLike, fc.string()), text => {
        const result = readIntelHex(text, 'x')
        if (result.ok) expect(result.value.segments.length).toBeGreaterThan(0)
        else expect(result.problems.length).toBeGreaterThan(0)
      }),
    )
  })

  it('one changed character never changes the image unnoticed', () => {
    const segments = [{ address: 0x8000, octets: Uint8Array.from({ length: 40 }, (_, i) => i * 7) }]
    const text = writeIntelHex(segments)
    fc.assert(
      fc.property(fc.nat(text.length - 1), fc.constantFrom(...'0123456789ABCDEF:'.split('')), (at, other) => {
        const changed = text.slice(0, at) + other + text.slice(at + 1)
        if (changed === text) return
        const result = readIntelHex(changed, 'x')
        // A line end replaced by a digit, or a colon by another colon, changes the text and not the image.
        if (result.ok) expect(result.value.segments).toEqual(segments)
      }),
    )
  })
})

describe('round trip', () => {
  it('of any segments, linear', () => {
    const list = fc.uniqueArray(fc.nat(60_000), { minLength: 1, maxLength: 6 }).chain(places =>
      fc.tuple(
        ...places.map(place =>
          fc.uint8Array({ minLength: 1, maxLength: 500 }).map(octets => ({
            address: place * 65_536 + 65_300,
            octets,
          })),
        ),
      ),
    )
    fc.assert(
      fc.property(list, fc.integer({ min: 1, max: 255 }), (segments, recordOctets) => {
        const merged = mergeSegments(segments)
        expect(merged.ok).toBe(true)
        const result = readIntelHex(writeIntelHex(segments, { recordOctets }), 'x')
        expect(result.ok && result.value.segments).toEqual(merged.ok && merged.value)
      }),
    )
  })
})
