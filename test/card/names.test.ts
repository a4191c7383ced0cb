import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { junkOf } from '../../shared/card/junk.ts'
import {
  checkCardPath,
  checkName,
  collisionsAmong,
  cutUnits,
  foldName,
  isDeviceName,
  MAX_NAME_UNITS,
  MAX_PATH_UNITS,
  sameName,
  suggestName,
} from '../../shared/card/names.ts'

const codes = (name: string) => checkName(name).map(p => p.code)

describe('names, against the published tables', () => {
  // Microsoft, exFAT file system specification, table 35, and FAT specification: refused in long names.
  const refused = [...'"*/:<>?\\|', ...Array.from({ length: 0x20 }, (_, i) => String.fromCharCode(i))]
  it.each(refused)('refuse the character %j anywhere, and only for that', character => {
    for (const name of [`${character}a.bin`, `a${character}b.bin`, `a.b${character}c`])
      expect(codes(name)).toEqual(['name.characters'])
  })

  // The same FAT specification: what long names allow beyond short ones.
  it.each([...'+,;=[] ', 'two.dots.bin', '.hidden', '\u00e4\u00f6\u00fc.bin', '\u98db\u884c\u6a5f.bin'])(
    'allow %j',
    text => {
      expect(codes(`a${text}b`)).toEqual([])
    },
  )

  // Microsoft, "Naming Files, Paths, and Namespaces": the reserved names, in any case, with an ending too.
  const devices = ['CON', 'PRN', 'AUX', 'NUL', 'CONIN$', 'CONOUT$']
  for (const n of [1, 2, 3, 4, 5, 6, 7, 8, 9, '\u00b9', '\u00b2', '\u00b3'])
    devices.push(`COM${n}`, `LPT${n}`)
  it.each(devices)('refuse the device %s', device => {
    for (const name of [device, device.toLowerCase(), `${device}.bin`, `${device}.tar.gz`, `${device} .txt`])
      expect(codes(name)).toEqual(['name.reserved'])
    for (const name of [`${device}-1.bin`, `a.${device}`, `x${device}`]) expect(codes(name)).toEqual([])
  })
  it('do not refuse the neighbours of devices', () => {
    for (const name of ['COM', 'COM10', 'LPT', 'console.bin', 'nulls', 'aux1'])
      expect(codes(name)).toEqual([])
  })

  // The same page: a dot or space at the end is removed by Windows.
  it('refuse a dot or space at the end, and take it for the same file without', () => {
    for (const end of ['.', ' ', '. .', '...']) {
      expect(codes(`a.bin${end}`)).toEqual(['name.trailing'])
      expect(sameName(`a.bin${end}`, 'A.BIN')).toBe(true)
    }
    expect(codes('.')).toEqual(['name.dots'])
    expect(codes('..')).toEqual(['name.dots'])
    expect(codes('')).toEqual(['name.empty'])
  })

  // FAT and exFAT specifications: 255 UTF-16 units; a character outside the basic plane takes two.
  it('count 255 UTF-16 units', () => {
    expect(MAX_NAME_UNITS).toBe(255)
    expect(codes('a'.repeat(255))).toEqual([])
    expect(codes('a'.repeat(256))).toEqual(['name.too-long'])
    expect(codes('\u{1F6E9}'.repeat(127))).toEqual([])
    expect(codes('\u{1F6E9}'.repeat(128))).toEqual(['name.too-long'])
    expect(codes('\u00e4'.repeat(255))).toEqual([])
  })

  it('refuse half a character', () => {
    expect(codes('a\ud83d.bin')).toEqual(['name.characters'])
    expect(codes('a\udee9.bin')).toEqual(['name.characters'])
  })

  // Windows' classic limit of 260, with drive, colon, backslash and the closing NUL.
  it('leave 256 units for a path below the drive', () => {
    expect(MAX_PATH_UNITS).toBe(256)
    const folders = `${'f'.repeat(100)}/${'g'.repeat(100)}/`
    expect(checkCardPath(folders + 'n'.repeat(54))).toEqual([])
    expect(checkCardPath(folders + 'n'.repeat(55)).map(p => p.code)).toEqual(['path.too-long'])
  })

  it('of every folder on a path are checked', () => {
    expect(checkCardPath('IMAGES/AUX/x.bin').map(p => p.code)).toEqual(['name.reserved'])
    expect(checkCardPath('../x').map(p => p.code)).toEqual(['name.dots'])
    expect(checkCardPath('a//b').map(p => p.code)).toEqual(['name.empty'])
  })
})

describe('a broken rule', () => {
  it('says what to do, and offers a name that is good', () => {
    for (const [bad, good] of [
      ['wren 2.4:final?.bin', 'wren 2.4-final-.bin'],
      ['con.bin', 'con-file.bin'],
      ['a.bin. ', 'a.bin'],
      [`${'n'.repeat(300)}.hex`, `${'n'.repeat(251)}.hex`],
    ]) {
      const [problem] = checkName(bad)
      expect(problem.suggestion).toBe(good)
      expect(problem.remedy).toMatch(/Use "/)
    }
    expect(checkName('...')[0].suggestion).toBeUndefined()
    expect(checkName('???')[0].suggestion).toBeUndefined()
  })

  const anyName = fc.oneof(
    fc.string({ unit: 'binary', maxLength: 300 }),
    fc.string({ unit: fc.constantFrom(...'ab.:?* \\/\u0000\u0007\ud83d\udee9COMnul1'), maxLength: 300 }),
  )
  it('is mended by every suggestion, and a good name has none', () => {
    fc.assert(
      fc.property(anyName, name => {
        const suggestion = suggestName(name)
        if (suggestion !== undefined) expect(checkName(suggestion)).toEqual([])
        if (name !== '' && checkName(name).length === 0) expect(suggestion).toBeUndefined()
      }),
      { numRuns: 2000 },
    )
  })

  it('is cut without halving a character', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), fc.nat(40), (text, most) => {
        const cut = cutUnits(text, most)
        expect(cut.length).toBeLessThanOrEqual(most)
        expect(text.startsWith(cut)).toBe(true)
        expect(Buffer.from(cut, 'utf8').toString('utf8')).toBe(cut)
      }),
    )
  })
})

describe('comparison without case', () => {
  it('is an equivalence that folding decides', () => {
    const name = fc.string({
      unit: fc.constantFrom(...'aAbB\u00e4\u00c4\u00df.x '),
      minLength: 1,
      maxLength: 6,
    })
    fc.assert(
      fc.property(name, name, (a, b) => {
        expect(sameName(a, a.toLowerCase())).toBe(true)
        expect(sameName(a, b)).toBe(sameName(b, a))
        expect(foldName(foldName(a))).toBe(foldName(a))
      }),
    )
  })

  it('takes one letter for one letter: sharp s is not two', () => {
    expect(sameName('stra\u00dfe', 'STRASSE')).toBe(false)
    expect(sameName('\u00e4.bin', '\u00c4.BIN')).toBe(true)
    expect(sameName('a\u0308.bin', '\u00e4.bin')).toBe(true)
  })

  it('finds the names that collide', () => {
    expect(collisionsAmong(['a', 'b', 'A.', 'c', 'B']).map(p => p.message)).toEqual([
      expect.stringContaining('"A." and "a"'),
      expect.stringContaining('"B" and "b"'),
    ])
    expect(collisionsAmong(['wren-6-2.4.0.image', 'wren-6-2.4.0.card.json'])).toEqual([])
  })
})

it('device names are told apart by their stem alone', () => {
  expect(isDeviceName('NUL')).toBe(true)
  expect(isDeviceName('nul.a.b')).toBe(true)
  expect(isDeviceName('.nul')).toBe(false)
})

// Common practice, no source.
describe('what desktop systems leave on cards', () => {
  it.each([
    ['.DS_Store', 'macOS'],
    ['._wren-6-2.4.0.image', 'macOS'],
    ['Thumbs.db', 'Windows'],
    ['System Volume Information', 'Windows'],
    ['.Trash-1000', 'a Linux desktop'],
  ])('%s is known as from %s', (name, from) => {
    expect(junkOf(name)?.from).toBe(from)
  })
  it.each(['wren-6-2.4.0.image', '.hidden', 'constructor', '__proto__', 'thumbs.db.bin'])(
    '%s is not',
    name => {
      expect(junkOf(name)).toBeUndefined()
    },
  )
})
