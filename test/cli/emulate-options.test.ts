import { describe, expect, it } from 'vitest'
import { paceOption, patienceOption } from '../../main/cli/emulate-options.ts'
import { echoOption } from '../../main/cli/write-direct.ts'

describe('how long emulate has patience', () => {
  it.each([
    [{}, undefined, undefined],
    [{ once: true }, 5000, 60_000],
    [{ once: '1.5' }, 1500, 60_000],
    [{ once: '0.5', waitForHost: '3600' }, 500, 3_600_000],
  ] as const)('%j', (options, quietEndsMs, noHostEndsMs) => {
    expect(patienceOption(options)).toEqual({ quietEndsMs, noHostEndsMs })
  })

  it.each([
    [{ once: 'x' }, /"x" is not a time/],
    [{ once: '' }, /"" is not a time/],
    [{ once: '3601' }, /"3601" is not a time/],
    [{ once: true, waitForHost: '0' }, /"0" is not a time/],
    [{ once: true, waitForHost: '-1' }, /"-1" is not a time/],
    [{ waitForHost: '9' }, /Without --once it is played until you end it/],
  ] as const)('refuses %j', (options, message) => {
    expect(() => patienceOption(options)).toThrow(message)
  })
})

describe('other options of emulate', () => {
  it('knows the paces, and yes and no', () => {
    expect([paceOption('line'), paceOption('none')]).toEqual(['line', 'unpaced'])
    expect([echoOption('yes'), echoOption('no'), echoOption(undefined)]).toEqual([true, false, undefined])
  })
  it('refuses anything else', () => {
    expect(() => paceOption('fast')).toThrow('"fast" is not understood')
    expect(() => echoOption('maybe')).toThrow('"maybe" is not understood')
  })
})
