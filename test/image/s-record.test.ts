import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readSRecords } from '../../shared/image/s-record.ts'
import { emptySRecord, readSRecordLine } from '../../shared/image/s-record-line.ts'
import { characterCodes, eachLine } from '../../shared/image/text-lines.ts'
import { writeSRecords } from '../../shared/image/write-s-record.ts'
import { sayProblem } from '../../shared/model/problem.ts'

const END = 'S9030000FC'
const DATA = 'S10C010031323334353637383915'
const file = (...lines: string[]): string => [...lines, END, ''].join('\n')

function record(type: number, ...octets: number[]): string {
  const all = [octets.length + 1, ...octets]
  all.push(~all.reduce((a, b) => a + b, 0) & 0xff)
  return `S${type}${all.map(o => o.toString(16).toUpperCase().padStart(2, '0')).join('')}`
}
function problemsOf(text: string | Uint8Array) {
  const result = readSRecords(text, 'wren.s19')
  return result.ok ? [] : result.problems
}
const warningsOf = (text: string) => {
  const result = readSRecords(text, 'wren.s19')
  return result.ok ? result.warnings.map(w => [w.code, w.line]) : result.problems
}

describe('what is wrong is said with line, expectation and remedy', () => {
  it.each([
    ['s-record.start', 2, file(DATA, 'hello')],
    ['s-record.start', 1, file(DATA.toLowerCase())],
    ['s-record.type', 1, file(record(4, 0, 0))],
    ['s-record.type', 2, file(DATA, 'S')],
    ['s-record.type', 2, file(DATA, 'SX0000')],
    ['s-record.character', 1, file(DATA.replace('31', 'O1'))],
    ['s-record.odd', 1, file(`${DATA}0`)],
    ['s-record.odd', 1, file(DATA.slice(0, -1))],
    ['s-record.short', 1, file('S10300')],
    ['s-record.short', 1, file('S3050000')],
    ['s-record.length', 1, file(`${DATA}00`)],
    ['s-record.length', 3, file(DATA, '', DATA.slice(0, -2))],
    ['s-record.length', 1, file('S10100000000')],
    ['s-record.checksum', 1, file('S10C010031323334353637383916')],
    ['s-record.record-length', 1, file(record(5, 0, 0, 1))],
    ['s-record.record-length', 2, [DATA, record(9, 0, 0, 7)].join('\n')],
    ['s-record.count', 2, file(DATA, record(5, 0, 2))],
    ['s-record.count', 2, file(DATA, record(6, 0, 0, 0))],
    ['s-record.after-end', 3, file(DATA) + DATA],
    ['s-record.header', 2, file(DATA, 'S00600004844521B')],
    ['s-record.no-end', 1, `${DATA}\n`],
    ['s-record.no-end', 3, [DATA, record(5, 0, 1), record(1, 2, 0, 7)].join('\n')],
    ['s-record.empty', 1, file()],
    ['s-record.empty', 2, file(record(1, 1, 0))],
    ['s-record.address', 1, file(record(3, 0xff, 0xff, 0xff, 0xff, 1, 2))],
    ['s-record.conflict', 2, file(DATA, record(1, 1, 1, 0x99))],
  ])('%s in line %i', (code, line, text) => {
    const [problem] = problemsOf(text)
    expect(problem).toMatchObject({ code, line, file: 'wren.s19' })
    expect(problem.remedy).toBeTruthy()
    expect(sayProblem(problem)).toContain(`wren.s19, line ${line}: `)
  })

  it('the checksum that would have been right is the one that makes the line good', () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 1, maxLength: 40 }),
        fc.integer({ min: 1, max: 255 }),
        (o, by) => {
          const good = record(2, 0, 1, 0, ...o)
          const right = good.slice(-2)
          const wrong = ((Number.parseInt(right, 16) + by) & 0xff).toString(16).toUpperCase().padStart(2, '0')
          const [problem] = problemsOf(file(good.slice(0, -2) + wrong))
          expect(problem).toMatchObject({ code: 's-record.checksum', expected: `checksum ${right}` })
        },
      ),
    )
  })

  it('stops after twenty', () => {
    const problems = problemsOf(file(...Array.from({ length: 100 }, () => 'nonsense')))
    expect(problems).toHaveLength(21)
    expect(problems[20].code).toBe('s-record.more')
  })

  it('a file that is too large is not looked at', () => {
    expect(problemsOf(new Uint8Array(16 * 1024 * 1024 + 1))[0].code).toBe('s-record.too-large')
  })
})

describe('what is odd but readable is a warning', () => {
  it('the same octets twice, and an end record of another width', () => {
    expect(warningsOf(file(DATA, DATA))).toEqual([['s-record.duplicate', 2]])
    expect(warningsOf([DATA, 'S70500000000FA'].join('\n'))).toEqual([['s-record.end-type', 2]])
    expect(warningsOf(file(DATA))).toEqual([])
    expect(warningsOf(file('S00600004844521B', 'S00600004844521B', DATA))).toEqual([
      ['s-record.header-twice', 2],
    ])
  })

  it('types of data that do not go together; the fewest octets that each address needs do', () => {
    const wide = record(2, 1, 0, 0, 7)
    expect(warningsOf([DATA, wide, 'S804000000FB'].join('\n'))).toEqual([])
    expect(warningsOf([wide, DATA, 'S804000000FB'].join('\n'))).toEqual([['s-record.mixed', 2]])
    expect(warningsOf([DATA, record(2, 0, 2, 0, 7), 'S804000000FB'].join('\n'))).toEqual([
      ['s-record.mixed', 2],
    ])
  })
})

describe('reading', () => {
  it('takes line ends, byte-order mark, blanks and the end mark of old systems as they come', () => {
    const expected = readSRecords(file(DATA), 'x')
    for (const text of [
      `\uFEFF${file(DATA)}`,
      file(DATA).replaceAll('\n', '\r\n'),
      file(DATA).replaceAll('\n', '\r'),
      file('', `${DATA}  `, ''),
      `${file(DATA)}\u001a`,
    ]) {
      expect(readSRecords(text, 'x')).toEqual(expected)
      expect(readSRecords(new TextEncoder().encode(text), 'x')).toEqual(expected)
    }
  })

  it('keeps the header and the start address', () => {
    const result = readSRecords(
      ['S00600004844521B', 'S30E080000003132333435363738390C', 'S70508000131C0'].join('\n'),
      'x',
    )
    expect(result).toMatchObject({
      ok: true,
      value: { header: 'HDR', startAddress: 0x08000131, records: 3, segments: [{ address: 0x08000000 }] },
      warnings: [],
    })
  })

  it('the count of the data lines ends a file as well as an end record does', () => {
    expect(warningsOf([DATA, record(5, 0, 1)].join('\n'))).toEqual([])
  })

  it('one line fills the record', () => {
    const record = emptySRecord()
    const text = new TextEncoder().encode(`xx${DATA}yy`)
    expect(readSRecordLine(text, 2, text.length - 2, record)).toBeUndefined()
    expect(record).toMatchObject({ type: 1, address: 0x100, count: 9 })
  })

  it('a file that was cut off is refused; with one character changed it is refused, doubted, or the same', () => {
    const octets = Uint8Array.from({ length: 700 }, (_, i) => (i * 7 + 3) & 0xff)
    const whole = writeSRecords([{ address: 0x1234, octets }])
    const good = readSRecords(whole, 'x')
    fc.assert(
      fc.property(fc.nat(whole.length - 2), at => {
        const result = readSRecords(whole.slice(0, at), 'x')
        // Nothing is lost where only the end record is.
        if (at <= whole.lastIndexOf('S5')) expect(result.ok).toBe(false)
        else if (result.ok) expect(result.value.segments).toEqual(good.ok && good.value.segments)
      }),
    )
    fc.assert(
      fc.property(fc.nat(whole.length - 2), fc.constantFrom(...'0123456789ABCDEFSG \n'), (at, character) => {
        const result = readSRecords(whole.slice(0, at) + character + whole.slice(at + 1), 'x')
        // The type is outside the checksum: where it moves a record, that is said.
        if (result.ok && good.ok && result.warnings.length === 0)
          expect(result.value.segments).toEqual(good.value.segments)
      }),
      { numRuns: 500 },
    )
  })

  it('never throws, and never gives more octets than the file can hold', () => {
    const line = fc.oneof(
      fc.constantFrom(DATA, END, '', 'S'),
      fc.string({ maxLength: 30 }),
      fc
        .tuple(fc.integer({ min: 0, max: 9 }), fc.uint8Array({ minLength: 4, maxLength: 30 }))
        .map(([t, o]) => record(t, ...o)),
    )
    fc.assert(
      fc.property(fc.array(line, { maxLength: 12 }), lines => {
        const text = lines.join('\n')
        const result = readSRecords(text, 'x')
        if (result.ok)
          expect(result.value.segments.reduce((n, s) => n + s.octets.length, 0)).toBeLessThan(text.length)
        else for (const p of result.problems) expect(p.line).toBeGreaterThan(0)
      }),
      { numRuns: 500 },
    )
  })
})

describe('lines of a text', () => {
  it('are numbered whatever ends them, and looked at until the answer is no', () => {
    const text = characterCodes('\uFEFFone\r\n\r\n two \rthree\u001a\nfour')
    const seen: [string, number][] = []
    const take = (from: number, to: number, line: number) =>
      seen.push([String.fromCharCode(...text.subarray(from, to)), line]) < 3
    expect(eachLine(text, take)).toBe(4)
    expect(seen).toEqual([
      ['one', 1],
      [' two', 3],
      ['three', 4],
    ])
  })

  it('characters that fit no octet become FF', () => {
    expect(characterCodes('aé€')).toEqual(Uint8Array.of(0x61, 0xe9, 0xff))
  })
})
