import { describe, expect, it } from 'vitest'
import { readBackFirst, readBackFound, sentAgain, sentInVain } from '../../shared/procedure/again-words.ts'

describe('a message that did not get through', () => {
  it('is said to be sent again, with its plain name and why', () => {
    expect(sentAgain('block 43', 'again', 2, 10)).toBe(
      'The receiver did not accept block 43, so it is sent again (2nd try of 10).',
    )
    expect(sentAgain('the order to erase', 'nothing', 3, 4)).toBe(
      'The order to erase was not answered and is sent again (3rd try of 4).',
    )
    expect(sentAgain('block 7', 'wrong', 4, 4)).toBe(
      'The answer to block 7 could not be understood, so it is sent again (4th try of 4).',
    )
  })

  it.each([
    [2, '2nd'],
    [11, '11th'],
    [12, '12th'],
    [13, '13th'],
    [21, '21st'],
    [22, '22nd'],
    [23, '23rd'],
    [111, '111th'],
    [112, '112th'],
  ])('counts its tries in English: %i', (tries, said) => {
    expect(sentAgain('block 1', 'again', tries, 200)).toContain(`(${said} try of 200)`)
  })

  it('is not said to be sent again before it has been read back', () => {
    expect(readBackFirst('block 43', 'nothing', 2, 10)).toBe(
      'Block 43 was not answered. It is read back first, in case it is there all the same (2nd try of 10).',
    )
    expect(readBackFirst('block 43', 'again', 2, 10)).toMatch(
      /^The receiver did not accept block 43\. It is read back/,
    )
    expect(readBackFirst('block 43', 'wrong', 2, 10)).toMatch(
      /^What was answered to block 43 .* It is read back/,
    )
    for (const why of ['nothing', 'again', 'wrong'] as const)
      expect(readBackFirst('block 43', why, 2, 10)).not.toContain('sent again')
    expect(readBackFound('block 43', 'is-done')).toBe('Block 43 is there already, so it is not sent again.')
    expect(readBackFound('block 43', 'say-again')).toBe('Block 43 is not there and is sent again.')
  })

  it('is not promised another try where there is none', () => {
    expect(sentInVain('block 43', 'nothing')).toBe('The receiver gave no answer to block 43.')
    expect(sentInVain('block 43', 'again')).toBe('The receiver did not take block 43.')
    expect(sentInVain('block 43', 'wrong')).toBe('The answer to block 43 could not be understood.')
  })
})
