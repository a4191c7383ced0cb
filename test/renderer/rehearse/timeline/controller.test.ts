import { beforeEach, describe, expect, it } from 'vitest'
import { PlaybackClock } from '../../../../renderer/rehearse/playback/clock.ts'
import { TimeLineController } from '../../../../renderer/rehearse/timeline/controller.ts'
import { frameOf, makeSession, nearestFrame } from '../../../../renderer/rehearse/timeline/session.ts'
import { framesAround, sayFrame, sayMomentInWords } from '../../../../renderer/rehearse/timeline/words.ts'
import { fixtureReport, fixtureTrace } from '../../../support/rehearsal-fixture.ts'

const trace = fixtureTrace({ imageBytes: 4096 })
const session = makeSession(fixtureReport(trace, false), trace, new Uint8Array(524_288), 3.4)
const { index } = session.lanes[0]

describe('what is in view of a session', () => {
  let clock: PlaybackClock
  let timeLine: TimeLineController
  beforeEach(() => {
    clock = new PlaybackClock(trace.endNs)
    timeLine = new TimeLineController(session, clock)
  })

  it('starts with all of it', () => {
    expect(timeLine.read()).toMatchObject({ level: 'session', selected: undefined })
  })

  it('stops and goes to a frame when it is to show one', () => {
    clock.seek(index.endNs[3] + 1)
    clock.play()
    timeLine.show('frame')
    expect(clock.isPlaying).toBe(false)
    expect(clock.atNs).toBe(index.startNs[4])
    expect(timeLine.read()).toMatchObject({ level: 'frame', selected: { laneNumber: 0, rank: 4 } })
    const { fromNs, spanNs } = timeLine.view
    expect(fromNs).toBeLessThanOrEqual(index.startNs[4])
    expect(fromNs + spanNs).toBeGreaterThanOrEqual(index.endNs[4])
  })

  it('stays where the play head is when a frame is under it', () => {
    const middle = (index.startNs[7] + index.endNs[7]) / 2
    clock.seek(middle)
    timeLine.show('bit')
    expect(clock.atNs).toBe(middle)
    expect(timeLine.read().level).toBe('bit')
    expect(timeLine.view.spanNs).toBeCloseTo((2 * 1e9) / 115_200, 3)
  })

  it('is no longer at a level once it is zoomed away from it', () => {
    timeLine.show('octet')
    timeLine.zoom(-1)
    expect(timeLine.read().level).toBeUndefined()
    for (let i = 0; i < 60; i++) timeLine.zoom(-1)
    expect(timeLine.read().level).toBe('session')
  })

  it('follows the play head when it is zoomed in', () => {
    timeLine.show('frame')
    clock.seek(trace.endNs / 2)
    const { fromNs, spanNs } = timeLine.view
    expect(fromNs).toBeLessThan(clock.atNs)
    expect(fromNs + spanNs).toBeGreaterThan(clock.atNs)
  })

  it('walks from frame to frame and no further than the last', () => {
    timeLine.stepFrame(1)
    expect(timeLine.read().selected).toEqual({ laneNumber: 0, rank: 0 })
    timeLine.stepFrame(1)
    expect(clock.atNs).toBe(index.startNs[1])
    timeLine.select({ laneNumber: 0, rank: index.count - 1 })
    timeLine.stepFrame(1)
    expect(timeLine.read().selected?.rank).toBe(index.count - 1)
  })

  it('tells text only of what text shows', () => {
    let told = 0
    timeLine.subscribe(() => told++)
    timeLine.hover({ laneNumber: 0, rank: 3 })
    timeLine.hover({ laneNumber: 0, rank: 3 })
    expect(told).toBe(1)
  })
})

describe('frames and moments', () => {
  it('finds the frame under way, else the next, else the last', () => {
    expect(nearestFrame(session, 0, index.startNs[5] + 1)?.rank).toBe(5)
    expect(nearestFrame(session, 0, index.endNs[5] + 1)?.rank).toBe(6)
    expect(nearestFrame(session, 0, trace.endNs * 2)?.rank).toBe(index.count - 1)
    expect(nearestFrame(session, 4, 0)).toBeUndefined()
    expect(frameOf(session, { laneNumber: 0, rank: index.count })).toBeUndefined()
  })

  it('lists frames around a moment, in full at both ends', () => {
    for (const atNs of [0, trace.endNs / 2, trace.endNs]) {
      const frames = framesAround(session, 0, atNs, 20)
      expect(frames).toHaveLength(20)
      expect(frames.some(f => f.rank === nearestFrame(session, 0, atNs)?.rank)).toBe(true)
    }
  })

  it('says a moment in words: silence, or who says what', () => {
    expect(sayMomentInWords(session, index.startNs[0] + 1, 1e9)).toBe(
      `1.00 s in view. Telemetry bus: ${sayFrame(session.lanes[0].decoder.frame(0))}`,
    )
    expect(sayMomentInWords(session, index.endNs[0] + 1, 1e9)).toContain('Telemetry bus: silent')
  })
})
