import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { versionSchema } from '../../shared/model/units.ts'
import { sameVersion, statesVersion, versionShown } from '../../shared/model/version.ts'
import { firmwareShown, versionNumbers } from '../../shared/procedure/bus.ts'

/** The order that Semantic Versioning 2.0.0 itself gives, item 11. */
const PUBLISHED = [
  ...['1.0.0-alpha', '1.0.0-alpha.1', '1.0.0-alpha.beta', '1.0.0-beta'],
  ...['1.0.0-beta.2', '1.0.0-beta.11', '1.0.0-rc.1', '1.0.0'],
]
const is = (said: string, stated: string, carries: 'numbers' | 'text' = 'text') =>
  versionShown(said, stated, carries).is

describe('what a receiver says in text', () => {
  it('shows the version that it names and none of its neighbours in the published order', () => {
    for (const [i, said] of PUBLISHED.entries())
      for (const [j, stated] of PUBLISHED.entries())
        expect(is(said, stated)).toBe(i === j ? 'shown' : 'other')
  })

  it('is taken as it is written: with v, with leading zeros, with two numbers, with build metadata', () => {
    for (const said of ['2.3.0', 'v2.3.0', ' 02.03.00 ', '2.3', '2.3.0.0', '2.3.0+77'])
      expect(is(said, '2.3.0')).toBe('shown')
    for (const said of ['2.30', '2.3.1', '3.2', '2.3.0-rc1']) expect(is(said, '2.3.0')).toBe('other')
  })

  it('is no proof where it does not tell', () => {
    const cases: [string, string][] = [
      ['2.3', '2.3.1'],
      ['2.3.0.9', '2.3.0'],
      ['23', '2.3.0'],
      ['', '2.3.0'],
      ['new', '2.3.0'],
      ['2.3.0-01', '2.3.0-1'],
    ]
    for (const [said, stated] of cases) {
      const shown = versionShown(said, stated, 'text')
      expect(shown).toMatchObject({ is: 'cannot-say', why: expect.stringContaining(stated) })
    }
  })
})

describe('what can say numbers only', () => {
  it('never shows a pre-release', () => {
    for (const stated of PUBLISHED)
      expect(is('1.0.0', stated, 'numbers')).toBe(stated === '1.0.0' ? 'shown' : 'cannot-say')
    expect(is('1.0.1', '1.0.0-rc.1', 'numbers')).toBe('other')
  })

  it('on the bus shows exactly the versions that three numbers of 16 bits can say', () => {
    const number = fc.nat(80_000)
    const tail = fc.constantFrom('', '-rc1', '+5')
    fc.assert(
      fc.property(number, number, number, tail, (major, minor, patch, rest) => {
        const stated = `${major}.${minor}.${patch}${rest}`
        const says = versionNumbers(stated)
        const isWhole = Math.max(major, minor, patch) <= 0xffff && rest !== '-rc1'
        expect(firmwareShown(says, stated).is).toBe(isWhole ? 'shown' : 'cannot-say')
        expect(firmwareShown({ ...says, patch: says.patch ^ 1 }, stated).is).toBe('other')
      }),
    )
  })

  it('stands inside a file, which may be any pre-release of it', () => {
    expect(statesVersion('2.3.0', '2.3.0-rc1')).toBe(true)
    expect(statesVersion('2.3.0', 'unknown')).toBe(true)
    expect(statesVersion('2.3.0', '2.3.1')).toBe(false)
  })
})

describe('versions of images', () => {
  it('are the same but for their build, and another with another pre-release', () => {
    expect(sameVersion('2.3.0+a', '2.3.0')).toBe(true)
    expect(sameVersion('2.3.0-rc1', '2.3.0')).toBe(false)
    for (const [i, one] of PUBLISHED.entries())
      expect(sameVersion(one, PUBLISHED[(i + 1) % PUBLISHED.length])).toBe(false)
  })

  it('with two numbers or leading zeros are told what a version looks like', () => {
    const message = (text: string) => versionSchema.safeParse(text).error?.issues[0].message
    expect(message('2.3')).toContain('a version such as 2.3.1')
    expect(message('02.3.0')).toContain('without leading zeros')
  })
})
