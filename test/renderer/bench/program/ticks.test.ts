import { describe, expect, it } from 'vitest'
import { WriteDesk } from '../../../../renderer/bench/program/desk.ts'
import { sheetOf } from '../../../../renderer/bench/program/print.ts'
import {
  readTicks,
  type Ticks,
  ticksKey,
  withoutTicks,
  withTick,
  writeTicks,
} from '../../../../renderer/bench/program/ticks.ts'
import { ending, lane } from '../../../support/write-lane.ts'

const none: Ticks = new Map()

describe('what is ticked of what is to be done again before it flies', () => {
  it('is set and taken away, for one end alone, and gone with it', () => {
    const one = withTick(withTick(none, 'a', 1, true), 'a', 3, true)
    const two = withTick(one, 'b', 0, true)
    expect(withTick(two, 'a', 1, false).get('a')).toEqual([3])
    expect(two.get('b')).toEqual([0])
    expect([...withoutTicks(two, 'a').keys()]).toEqual(['b'])
    expect(ticksKey(lane({ sessionId: null, lane: 'lane-7' }))).toBe('lane-7')
  })

  it('is read again as it was written; rubbish is passed over, and a setting never grows too long', () => {
    const some = withTick(none, 'a', 1, true)
    expect(readTicks(writeTicks(some))).toEqual(some)
    for (const text of [null, '', '{}', '[["a",[-1]]]', '[["a",["x"]]]'])
      expect(readTicks(text)).toEqual(none)
    const all = Array.from({ length: 20 }, (_, i) => i)
    const many: Ticks = new Map(Array.from({ length: 50 }, (_, i) => [`${i}`.padStart(36, '0'), all]))
    // shared/api/settings.ts takes 2,000 characters for each.
    expect(writeTicks(many).length).toBeLessThanOrEqual(2000)
    expect([...readTicks(writeTicks(many)).keys()]).toContain('49'.padStart(36, '0'))
  })

  it('is there after the window was loaded anew, stands on the paper, and goes when the end is closed', async () => {
    const kept = new Map<string, string>()
    const memory = {
      getItem: (name: string) => kept.get(name) ?? null,
      setItem: (name: string, value: string) => void kept.set(name, value),
    }
    const done = lane({
      sessionId: 'session-1',
      end: ending({ afterwards: ['Bind it.', 'Check the range.'] }),
    })
    const client = {
      call: async (method: string) =>
        method === 'write.lanes'
          ? { lanes: [done], batch: null }
          : method === 'write.interrupted'
            ? { sessions: [] }
            : {},
      on: () => () => {},
    } as never
    new WriteDesk(client, memory).tick(done, 1, true)
    const again = new WriteDesk(client, memory)
    const ticked = again.get().ticks.get('session-1')
    expect(ticked).toEqual([1])
    const sheet = sheetOf(done, '', ticked).map(([, text]) => text)
    expect(sheet).toContain('☐ Bind it.')
    expect(sheet).toContain('☑ Check the range.')
    const end = again.listen()
    await expect.poll(() => again.get().lanes.length).toBe(1)
    again.dismiss(done.lane)
    await expect.poll(() => again.get().ticks.size).toBe(0)
    end()
    expect(new WriteDesk(client, memory).get().ticks.size).toBe(0)
  })
})
