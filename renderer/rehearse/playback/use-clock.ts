import { useEffect, useSyncExternalStore } from 'react'
import type { ClockView, PlaybackClock } from './clock.ts'

/** The play head for text: renders at most ten times a second. */
export const useClockView = (clock: PlaybackClock): ClockView =>
  useSyncExternalStore(clock.subscribe, clock.view)

/** Drives the clock with the screen's frames for as long as the component is there. */
export function useClockDriver(clock: PlaybackClock | undefined): void {
  useEffect(() => {
    if (clock === undefined) return
    let request = 0
    const frame = (nowMs: number) => {
      clock.tick(nowMs)
      request = clock.isPlaying ? requestAnimationFrame(frame) : 0
    }
    const wake = () => {
      if (request === 0 && clock.isPlaying) request = requestAnimationFrame(frame)
    }
    const stop = clock.subscribe(wake)
    wake()
    return () => {
      stop()
      cancelAnimationFrame(request)
    }
  }, [clock])
}
