import { describe, expect, it, onTestFinished } from 'vitest'
import { testFolder } from '../support/folder.ts'
import { needs, titled } from '../support/needs.ts'
import { killedWrite } from '../support/robust-kills.ts'
import { robustDesk, robustSession } from '../support/robust-sessions.ts'

/**
 * Writes in which something goes wrong at random: none hangs, none is told as updated that is not, each leaves a
 * journal that is true. A sample here; all of it with PREFLASH_ROBUST=all.
 */
const isAll = process.env.PREFLASH_ROBUST === 'all'
const SESSIONS = isAll ? 500 : 60
const KILLS = isAll ? 200 : 15
const AT_ONCE = 8
const KILLS_AT_ONCE = 2

async function inParallel<T>(count: number, atOnce: number, one: (seed: number) => Promise<T>): Promise<T[]> {
  const ends: T[] = []
  let next = 0
  const worker = async () => {
    while (next < count) ends.push(await one(++next))
  }
  await Promise.all(Array.from({ length: atOnce }, worker))
  return ends
}
const tally = (words: readonly string[]) =>
  Object.fromEntries([...new Set(words)].sort().map(word => [word, words.filter(w => w === word).length]))

describe.skipIf(needs('socat') === undefined)(titled('writes in which something goes wrong', 'socat'), () => {
  it(`${SESSIONS} with cuts, noise, stalls, cables pulled, cancelled: each ends, and what is told is so`, {
    timeout: 3_600_000,
  }, async () => {
    const folder = testFolder('robust')
    const robust = robustDesk(folder.path)
    onTestFinished(async () => {
      await robust.logbook.close()
      folder.remove()
    })
    const ends = await inParallel(SESSIONS, AT_ONCE, seed => robustSession(robust, seed))
    expect(ends.filter(e => e.wrong.length > 0).map(e => ({ ...e }))).toEqual([])
    const outcomes = tally(ends.map(e => e.outcome))
    const states = tally(ends.map(e => e.state))
    if (isAll) console.log(JSON.stringify({ outcomes, states }))
    // It would be no test if all went well, or nothing did.
    expect(Object.keys(outcomes)).toEqual(
      expect.arrayContaining(['updated', 'failed', 'cancelled', 'port-lost']),
    )
  })

  it(`${KILLS} programs killed while they write: nothing committed is lost, and the recovery works`, {
    timeout: 3_600_000,
  }, async () => {
    const ends = await inParallel(KILLS, KILLS_AT_ONCE, killedWrite)
    expect(ends.filter(e => e.wrong.length > 0)).toEqual([])
    const states = tally(ends.map(e => e.state))
    if (isAll) console.log(JSON.stringify({ states }))
    expect(Object.keys(states).length).toBeGreaterThan(1)
  })
})
