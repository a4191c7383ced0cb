import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { PlaybackClock, SPEEDS } from '../../../../renderer/rehearse/playback/clock.ts'

describe('the play head', () => {
  it('goes as fast as it is told to, from the first frame on', () => {
    for (const speed of SPEEDS) {
      const clock = new PlaybackClock(100e9)
      clock.setSpeed(speed)
      clock.play()
      clock.tick(5_000)
      clock.tick(5_250)
      expect(clock.atNs).toBe(0.25e9 * speed)
    }
  })

  it('does not jump by the time it stood still', () => {
    const clock = new PlaybackClock(100e9)
    clock.play()
    clock.tick(0)
    clock.tick(100)
    clock.pause()
    clock.tick(9_000)
    clock.play()
    clock.tick(10_000)
    expect(clock.atNs).toBe(0.1e9)
    clock.tick(10_050)
    expect(clock.atNs).toBe(0.15e9)
  })

  it('stops at the end, and starts anew from there', () => {
    const clock = new PlaybackClock(1e9)
    clock.setSpeed(100)
    clock.play()
    clock.tick(0)
    clock.tick(1_000)
    expect(clock.view()).toEqual({ atNs: 1e9, playing: false, speed: 100, ended: true })
    clock.play()
    expect(clock.view()).toMatchObject({ atNs: 0, playing: true, ended: false })
  })

  it('steps from stop to stop, forwards and back, ends included', () => {
    const clock = new PlaybackClock(10e9, [4e9, 2e9, 4e9, 11e9])
    const seen = [1, 1, 1, 1, -1, -1, -1, -1].map(by => {
      clock.step(by as 1 | -1)
      return clock.atNs / 1e9
    })
    expect(seen).toEqual([2, 4, 10, 10, 4, 2, 0, 0])
  })

  it('pauses when it steps or goes to an end', () => {
    const clock = new PlaybackClock(10e9, [5e9])
    for (const move of [
      () => clock.step(1),
      () => clock.step(-1),
      () => clock.toStart(),
      () => clock.toEnd(),
    ]) {
      clock.play()
      move()
      expect(clock.isPlaying).toBe(false)
    }
  })

  it('goes on playing when the play head is dragged', () => {
    const clock = new PlaybackClock(10e9)
    clock.play()
    clock.seek(3e9)
    expect(clock.isPlaying).toBe(true)
  })

  it('keeps within the session and the speeds there are', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.oneof(fc.double({ min: -1e12, max: 1e12, noNaN: true }), fc.constantFrom('faster', 'slower')),
        ),
        moves => {
          const clock = new PlaybackClock(5e9)
          for (const move of moves) {
            if (typeof move === 'number') clock.seek(move)
            else clock.changeSpeed(move === 'faster' ? 1 : -1)
            expect(clock.atNs).toBeGreaterThanOrEqual(0)
            expect(clock.atNs).toBeLessThanOrEqual(5e9)
            expect(SPEEDS).toContain(clock.view().speed)
          }
        },
      ),
    )
  })

  it('tells text ten times a second and pictures each frame', () => {
    const clock = new PlaybackClock(1_000e9)
    let texts = 0
    let frames = 0
    clock.subscribe(() => texts++)
    clock.onFrame(() => frames++)
    clock.play()
    texts = 0
    frames = 0
    for (let ms = 0; ms < 2000; ms += 16) clock.tick(ms)
    expect(frames).toBe(125)
    expect(texts).toBeGreaterThanOrEqual(17)
    expect(texts).toBeLessThanOrEqual(21)
  })

  it('gives the same view until it changes, as an external store must', () => {
    const clock = new PlaybackClock(1e9)
    expect(clock.view()).toBe(clock.view())
    const before = clock.view()
    clock.seek(1)
    expect(clock.view()).not.toBe(before)
  })
})
