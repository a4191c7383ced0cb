import { describe, expect, it } from 'vitest'
import { oneAtATime } from '../../main/store/one-at-a-time.ts'

const moment = () => new Promise(resolve => setImmediate(resolve))

describe('tasks in turn', () => {
  it('runs tasks of one key one after the other, even after one that failed, and other keys beside them', async () => {
    const inTurn = oneAtATime()
    const done: string[] = []
    const task =
      (name: string, fails = false) =>
      async () => {
        done.push(`${name} begins`)
        await moment()
        await moment()
        done.push(`${name} ends`)
        if (fails) throw new Error(name)
        return name
      }
    const all = await Promise.allSettled([
      inTurn('a', task('a1', true)),
      inTurn('a', task('a2')),
      inTurn('b', task('b1')),
    ])
    expect(all.map(r => r.status)).toEqual(['rejected', 'fulfilled', 'fulfilled'])
    expect(done.indexOf('a2 begins')).toBeGreaterThan(done.indexOf('a1 ends'))
    expect(done.indexOf('b1 begins')).toBeLessThan(done.indexOf('a1 ends'))
  })
})
