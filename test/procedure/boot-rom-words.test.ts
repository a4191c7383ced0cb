import { describe, expect, it } from 'vitest'
import {
  type Asked,
  ERASE,
  GET,
  GET_ID,
  inVainText,
  isLock,
  READ,
  repeatText,
} from '../../shared/procedure/boot-rom-words.ts'

describe('the commands of ST AN3155, to people', () => {
  const block: Asked = { command: 'Write Memory', name: 'block 3', isLookedAt: true }

  it('are said to be sent again, or to be looked at first', () => {
    expect(repeatText(ERASE, { got: 'wrong', step: 'data' }, 2, 4)).toBe(
      'The answer to the order to erase could not be understood, so it is sent again (2nd try of 4).',
    )
    expect(repeatText(block, { got: 'nothing', step: 'data' }, 2, 4)).toBe(
      'Block 3 was not answered. It is read back first, in case it is there all the same (2nd try of 4).',
    )
  })

  // ST AN3155: Get and Get ID are answered under read-out protection, what reads, erases or writes is not.
  it('turned down at the very command are the lock, but for what a locked chip answers', () => {
    const nack = { got: 'nack', step: 'command' } as const
    for (const asked of [ERASE, READ, block]) {
      expect(isLock(asked, nack)).toBe(true)
      expect(inVainText(asked, nack)).toContain(`its own loader turns down ${asked.name}.`)
    }
    for (const asked of [GET, GET_ID]) expect(isLock(asked, nack)).toBe(false)
    expect(isLock(block, { got: 'nack', step: 'address' })).toBe(false)
    expect(isLock(block, { got: 'nothing', step: 'command' })).toBe(false)
    expect(inVainText(block, { got: 'nack', step: 'data' })).toBe('The receiver did not take block 3.')
  })
})
