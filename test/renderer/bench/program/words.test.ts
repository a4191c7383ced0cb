import { describe, expect, it } from 'vitest'
import { freshDraft } from '../../../../renderer/bench/program/draft.ts'
import {
  identityParts,
  lastWords,
  latencyWords,
  livePorts,
  portSays,
  progressWords,
  sayLeft,
  sayPortState,
  saySeconds,
  shareOf,
  waitWords,
} from '../../../../renderer/bench/program/words.ts'
import type { PortInfo } from '../../../../shared/api/ports.ts'
import { ending, lane } from '../../../support/write-lane.ts'

const port = (place: string, state: PortInfo['state'], stateText: string): PortInfo => ({
  ...{ place, state, stateText, kind: 'typed', isTyped: true, what: '', can: '', nameStays: '' },
  ...{ latencyMs: 0, latencyFrom: '' },
})

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

  it('count down how long a receiver is waited for that speaks first, and stop once it has', () => {
    const steps = [{ step: 'enter', attempt: 1, startMs: 200, endMs: null }] as const
    const notes = [{ atMs: 250, level: 'info', text: 'Waiting.', mostMs: 60_000 }] as const
    const waiting = lane({ notes: [...notes], steps: [...steps], elapsedMs: 4250 })
    expect(waitWords(waiting)).toBe('Waiting for the receiver to speak first: at most 56 s more.')
    expect(waitWords({ ...waiting, elapsedMs: 99_000 })).toContain('at most 0 s more')
    expect(waitWords({ ...waiting, done: 128 })).toBeUndefined()
    const next = { step: 'write', attempt: 1, startMs: 3000, endMs: null } as const
    expect(waitWords({ ...waiting, steps: [...steps, next] })).toBeUndefined()
    expect(waitWords(lane({ notes: [{ atMs: 1, level: 'info', text: 'Something.' }] }))).toBeUndefined()
  })

  it('tell a place that can be no port from one that is unplugged', () => {
    expect(sayPortState({ state: 'absent', stateText: 'not a serial port' }).word).toBe('not a serial port')
    expect(sayPortState({ state: 'free', stateText: 'free' }).word).toBe('free')
    const server = { state: 'not-known', stateText: 'was not there last time' } as const
    expect(sayPortState({ ...server, remedy: 'Look whether it is on.' })).toEqual({
      ...{ word: 'was not there last time', status: 'caution' },
    })
    expect(sayPortState({ state: 'not-known', stateText: 'found out when it is opened' }).word).toBe(
      'not known',
    )
  })

  it('say of a port that was chosen why it cannot be used, and nothing where it can', () => {
    const one = { ...freshDraft(null), port: '/dev/a' }
    const free = port('/dev/a', 'free', 'free')
    expect(portSays(one, [free], [])).toBeUndefined()
    expect(portSays(one, undefined, [])).toBeUndefined()
    expect(portSays(freshDraft(null), [free], [])).toBeUndefined()
    expect(portSays(one, [], [])?.word).toBe('not there')
    expect(portSays(one, [port('/dev/a', 'in-use', 'in use by another program')], [])?.word).toBe('in use')
    expect(portSays(one, [free], ['/dev/a'])?.word).toBe('writing now')
    const two = { ...one, mode: 'batch', ports: ['/dev/a', '/dev/b'] } as const
    expect(portSays(two, [free], [])?.word).toBe('/dev/b: not there')
  })

  it('say what came of the last write to this receiver, and which ports are written through', () => {
    const before = lane({ end: ending({ outcome: 'failed' }) })
    const last = lane({ lane: 'lane-2', end: ending() })
    expect(lastWords([before, last], 'wren-trainer')).toBe(
      'Last write: updated. Another one takes another look.',
    )
    expect(lastWords([last, lane()], 'wren-trainer')).toBe('It is being written.')
    expect(lastWords([last], 'another')).toBe('')
    expect(livePorts([last, lane({ port: { key: '/dev/b', label: 'B' } })])).toEqual(['/dev/b'])
  })

  it('say of a receiver in a tally what matters first, and leave nothing out', () => {
    const all = 'Type Wren 6, Firmware 2.4.0, Generation 3, Runs firmware'
    expect(identityParts(all)).toEqual({
      first: 'Type Wren 6, Firmware 2.4.0',
      more: ['Generation 3', 'Runs firmware'],
    })
    expect(identityParts('Wren 6, in its boot loader')).toEqual({
      first: 'Wren 6, in its boot loader',
      more: [],
    })
    expect(identityParts('')).toEqual({ first: '', more: [] })
  })

  it('say what the latency of an adapter does', () => {
    expect(latencyWords(1)).toContain('hardly slows')
    expect(latencyWords(16)).toMatch(/up to 16 ms.*takes longer.*allows for it/)
  })
})
