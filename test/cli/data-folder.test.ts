import { describe, expect, it } from 'vitest'
import { preflash } from '../support/cli.ts'

describe('a data folder that cannot be used', () => {
  it.each([
    ['diagnose', '--symptom', 'no-answer', '--json'],
    ['emulate', '--port', 'new'],
    ['log'],
    ['dialect'],
  ])(
    'is told by %s before anything starts',
    async (...args) => {
      const file = await preflash(...args, '--data', import.meta.filename)
      expect(file).toEqual({
        code: 2,
        out: '',
        err: expect.stringMatching(/--data: This is a file, not the folder/),
      })
      const empty = await preflash(...args, '--data', '')
      expect(empty).toEqual({
        code: 2,
        out: '',
        err: expect.stringMatching(/--data: The name of the folder is empty/),
      })
    },
    60_000,
  )
})
