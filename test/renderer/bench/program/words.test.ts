import { describe, expect, it } from 'vitest'
import {
  latencyWords,
  progressWords,
  sayLeft,
  saySeconds,
  shareOf,
} from '../../../../renderer/bench/program/words.ts'
import { lane } from '../../../support/write-lane.ts'

describe('words of a write', () => {
  it('say how far it is, how fast, and how long still', () => {
    const running = lane({ done: 131_072, total: 262_144, octetsPerSecond: 11_520, secondsLeft: 11.4 })
    expect(progressWords(running)).toBe('50 % · 128 KB of 256 KB · 11,520 octets a second · about 11 s left')
  })

  it('say nothing that is not known', () => {
    expect(progressWords(lane())).toBe('')
    expect(shareOf({ done: 3, total: 0 })).toBeUndefined()
  })

  it('count octets only where octets are counted', () => {
    expect(progressWords(lane({ step: 'erase', done: 5, total: 10 }))).toBe('50 %')
  })

  it('never say more than all, or that it is done before it is', () => {
    expect(shareOf({ done: 12, total: 10 })).toBe(1)
    expect(progressWords(lane({ done: 999, total: 1000 }))).toContain('99 %')
  })

  it('say times in the unit that a person waits in', () => {
    expect(sayLeft(0.2)).toBe('nearly done')
    expect(sayLeft(89)).toBe('about 89 s left')
    expect(sayLeft(600)).toBe('about 10 min left')
    expect(saySeconds(4040)).toBe('4.0 s')
    expect(saySeconds(125_400)).toBe('2 min 5 s')
  })

  it('say what the latency of an adapter does', () => {
    expect(latencyWords(1)).toContain('hardly slows')
    expect(latencyWords(16)).toMatch(/up to 16 ms.*takes longer.*allows for it/)
  })
})
