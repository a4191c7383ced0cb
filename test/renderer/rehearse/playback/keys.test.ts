import { describe, expect, it } from 'vitest'
import { PlaybackClock } from '../../../../renderer/rehearse/playback/clock.ts'
import { actOnKey } from '../../../../renderer/rehearse/playback/keys.ts'
import { TimeLineController } from '../../../../renderer/rehearse/timeline/controller.ts'
import { makeSession } from '../../../../renderer/rehearse/timeline/session.ts'
import { fixtureReport, fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const trace = fixtureTrace({ imageBytes: 2048 })
const session = makeSession(fixtureReport(trace, false), trace, new Uint8Array(524_288), 3.4)
/** Stands for an element of which only `closest` is asked: it matches a selector that names it. */
const element = (name: string) =>
  ({ closest: (selector: string) => (selector.split(', ').includes(name) ? {} : null) }) as unknown as Element

function press(key: string, target: Element | null = null, atNs = 5e8) {
  const clock = new PlaybackClock(trace.endNs, [1e8, 6e8])
  const timeLine = new TimeLineController(session, clock)
  clock.seek(atNs)
  const done = actOnKey(key, target, clock, timeLine)
  return { done, clock, timeLine }
}

describe('keys', () => {
  it('play, step, jump, change speed and zoom', () => {
    expect(press(' ').clock.isPlaying).toBe(true)
    expect(press('ArrowRight').clock.atNs).toBe(6e8)
    expect(press('ArrowLeft').clock.atNs).toBe(1e8)
    expect(press('Home').clock.atNs).toBe(0)
    expect(press('End').clock.atNs).toBe(trace.endNs)
    expect(['1', '2', '3'].map(key => press(key).clock.view().speed)).toEqual([1, 10, 100])
    expect(press('+').timeLine.read().spanNs).toBeLessThan(press('x').timeLine.read().spanNs)
    expect(press('.').timeLine.read().selected).toBeDefined()
  })

  it('leave fields, buttons and tabs their own', () => {
    expect(press(' ', element('button')).done).toBe(false)
    expect(press('ArrowRight', element('[role=tab]')).done).toBe(false)
    expect(press('1', element('select')).done).toBe(false)
    expect(press('ArrowRight', element('button')).done).toBe(true)
  })

  it('that mean nothing are left alone', () => {
    expect(press('q').done).toBe(false)
  })
})
