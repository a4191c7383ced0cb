import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { BENCH_ENDING, checkBenchFileName, sameFileName } from '../../main/store/file-name.ts'

const codeOf = (name: string) => {
  const checked = checkBenchFileName(name)
  return checked.ok ? 'ok' : checked.problems[0].code
}

describe('names of bench files', () => {
  it.each([
    'Marsh Lane.preflash.json',
    'bench-2.preflash.json',
    'Überlandwiese 3.1.preflash.json',
    'a.b.preflash.json',
  ])('takes %s', name => expect(codeOf(name)).toBe('ok'))

  it.each([
    'bench.json',
    '.preflash.json',
    '.hidden.preflash.json',
    '..preflash.json',
    '../up.preflash.json',
    '/etc/passwd.preflash.json',
    'C:\\bench.preflash.json',
    'a:b.preflash.json',
    ' a.preflash.json',
    'a .preflash.json',
    'a..preflash.json',
    'line\nbreak.preflash.json',
    'a\u0000b.preflash.json',
    'a\u202eb.preflash.json',
    'half\ud800.preflash.json',
    `${'x'.repeat(101)}.preflash.json`,
    `${'鳥'.repeat(90)}.preflash.json`,
    'x'.repeat(5000),
  ])('refuses %j', name => expect(codeOf(name)).toBe('bench.file-name'))

  // Windows, "Naming Files, Paths, and Namespaces": reserved in any case, and with any extension.
  it.each(['CON', 'prn', 'Aux', 'NUL', 'COM1', 'lpt9', 'COM¹', 'CONIN$', 'conout$', 'nul.old', 'con .a'])(
    'refuses the device name %s',
    stem => expect(codeOf(stem + BENCH_ENDING)).toBe('bench.file-name'),
  )

  it('takes no name that leads out of the folder or that FAT, exFAT or Windows refuse', () => {
    const nasty = fc.oneof(
      fc.string({ unit: 'binary' }),
      fc.string({ unit: fc.constantFrom('.', '/', '\\', ' ', 'a', 'CON', ':', '\u0000', 'é', '|', '🛩') }),
    )
    fc.assert(
      fc.property(nasty, stem => {
        const checked = checkBenchFileName(stem + BENCH_ENDING)
        if (!checked.ok) return
        const name = checked.value
        expect(name).not.toMatch(/["*/:<>?\\|]/)
        expect([...name].every(c => c > '\u001f')).toBe(true)
        expect(name.startsWith('.')).toBe(false)
        expect(Buffer.byteLength(name)).toBeLessThanOrEqual(255)
        expect(Buffer.from(name).toString()).toBe(name)
        expect(checkBenchFileName(name)).toEqual(checked)
      }),
      { numRuns: 2000 },
    )
  })

  it('knows names that are one file where case does not count', () => {
    expect(sameFileName('Bench.preflash.json', 'bENCH.preflash.json')).toBe(true)
    expect(sameFileName('é.preflash.json', 'e\u0301.preflash.json')).toBe(true)
    expect(sameFileName('a.preflash.json', 'b.preflash.json')).toBe(false)
  })
})
