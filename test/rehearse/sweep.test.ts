import { describe, expect, it } from 'vitest'
import { benchImage } from '../../shared/rehearse/image.ts'
import { cutPoints, sweepCuts } from '../../shared/rehearse/sweep.ts'
import { smallRequest } from '../support/small-bench.ts'

function blocksToWrite(): number {
  const { bench } = smallRequest()
  const image = benchImage(bench, bench.catalogue.receiverTypes[0], 'wren-6-2.4.0')
  if (!image.ok) throw new Error(image.problems[0].message)
  const { payload } = image.value
  let blocks = 0
  for (let at = 0; at < payload.length; at += 56)
    if (payload.subarray(at, at + 56).some(octet => octet !== 0xff)) blocks++
  return blocks
}

describe('the sweep of power cuts', () => {
  it('names every place once', () => {
    const points = cutPoints(3, 2)
    expect(points).toHaveLength(3 + 2 * 3)
    expect(new Set(points.map(p => JSON.stringify(p))).size).toBe(points.length)
  })

  it('by cable: cut at every effect and every flash operation, all come back', () => {
    const swept = sweepCuts(smallRequest())
    if (!swept.ok) throw new Error(swept.problems[0].message)
    const { sessions, effects, flashOperations, outcomes, failures } = swept.value
    expect(sessions).toBe(effects + 3 * flashOperations)
    // 8 pages erased, one operation for each block of 56 octets that is not erased flash anyway, two on the record.
    expect(flashOperations).toBe(8 + blocksToWrite() + 2)
    expect(failures).toEqual([])
    expect(outcomes.destroyed).toBe(0)
    expect(outcomes['needs-boot-rom']).toBe(0)
    expect(outcomes.unchanged).toBeGreaterThan(10)
    expect(outcomes['needs-cable']).toBeGreaterThan(100)
    expect(outcomes.updated).toBeGreaterThan(3)
    // No cut between the first erase and the last write leaves anything that would start.
    const flashCuts = 3 * (8 + blocksToWrite())
    expect(outcomes['needs-cable']).toBeGreaterThanOrEqual(flashCuts - 1)
  }, 60_000)

  it('tells how far it is, and can take every tenth only', () => {
    const told: number[] = []
    const swept = sweepCuts(smallRequest(), { every: 50, onProgress: done => told.push(done) })
    if (!swept.ok) throw new Error(swept.problems[0].message)
    expect(told).toEqual(Array.from({ length: swept.value.sessions }, (_, i) => i + 1))
    expect(Object.values(swept.value.outcomes).reduce((a, b) => a + b)).toBe(swept.value.sessions)
  })

  it('gives the problem of a request that cannot be rehearsed', () =>
    expect(sweepCuts(smallRequest({ receiverId: 'nobody' })).ok).toBe(false))
})
