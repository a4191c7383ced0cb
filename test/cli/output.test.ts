import { describe, expect, it } from 'vitest'
import { keepGoing, outputGone } from '../../main/cli/output.ts'

const gone = Object.assign(new Error('write EPIPE'), { code: 'EPIPE' })

describe('a reader that is gone', () => {
  it('ends a command, but nothing that must come to its end', async () => {
    let ends = 0
    const exit = () => {
      ends++
    }
    outputGone(gone, exit)
    expect(ends).toBe(1)
    await keepGoing(async () => {
      outputGone(gone, exit)
      await keepGoing(async () => outputGone(gone, exit))
      outputGone(gone, exit)
    })
    expect(ends).toBe(1)
    await expect(keepGoing(() => Promise.reject(new Error('no')))).rejects.toThrow('no')
    outputGone(gone, exit)
    expect(ends).toBe(2)
  })

  it('is not what any other error means', () => {
    expect(() => outputGone(Object.assign(new Error('x'), { code: 'EBADF' }))).toThrow('x')
  })
})

describe('a disk that is full', () => {
  it('ends a command with 1, but nothing that must come to its end, and is said once', async () => {
    const full = Object.assign(new Error('write ENOSPC'), { code: 'ENOSPC' })
    const codes: (number | undefined)[] = []
    const said: string[] = []
    const hear = () =>
      outputGone(
        full,
        code => codes.push(code),
        text => said.push(text),
      )
    await keepGoing(async () => hear())
    expect([codes, said]).toEqual([[], [expect.stringMatching(/could not be written: the disk is full/)]])
    hear()
    expect([codes, said.length]).toEqual([[1], 1])
  })
})
