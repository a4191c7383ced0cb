import { describe, expect, it } from 'vitest'
import type { WriteOptions } from '../../main/cli/write.ts'
import { againCommand, refuseOfSession } from '../../main/cli/write-again.ts'
import type { WriteEnding } from '../../shared/bench-run/lane.ts'

const options = (change: Partial<WriteOptions> = {}): WriteOptions => ({ caution: [], expect: [], ...change })
const end = (change: Partial<WriteEnding> = {}) =>
  ({ outcome: 'failed', state: 'partly-written', ...change }) as WriteEnding
const lane = { sessionId: '20261129-1' }

describe('the command that puts a write right', () => {
  it('names the session alone for a device on no bench', () => {
    const asked = options({ direct: true, port: '/dev/my port', data: '/tmp/d' })
    expect(againCommand(end(), lane, asked, [])).toBe(
      "preflash write --direct --recovers 20261129-1 --confirm wiring --port '/dev/my port' --data /tmp/d",
    )
  })
  it('is the same command again on a bench, and quoted for a shell', () => {
    const given = [
      'write',
      '--port',
      '/dev/a',
      '--image',
      "it's $new",
      '--recovers',
      'older',
      '--recovers=old',
    ]
    expect(againCommand(end(), lane, options(), given)).toBe(
      "preflash write --port /dev/a --image 'it'\\''s $new' --recovers 20261129-1",
    )
  })
  it('is not named where there is nothing to put right', () => {
    expect(againCommand(end({ state: 'as-before' }), lane, options(), [])).toBeUndefined()
    expect(againCommand(end({ outcome: 'updated' }), lane, options(), [])).toBeUndefined()
    expect(againCommand(end(), undefined, options(), [])).toBeUndefined()
  })
})

describe('what the session says itself', () => {
  it.each([{ dialect: 'ymodem' }, { address: '0' }, { pageBytes: '16' }, { expect: ['a=b'] }])(
    'is refused: %j',
    change => expect(() => refuseOfSession(options(change))).toThrow(/is taken from the session/),
  )
  it('port, rate and echo may be others', () => {
    expect(() => refuseOfSession(options({ port: 'x', baud: '9600', echo: 'no' }))).not.toThrow()
  })
})
