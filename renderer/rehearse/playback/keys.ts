import { useEffect } from 'react'
import type { TimeLineController } from '../timeline/controller.ts'
import type { PlaybackClock } from './clock.ts'

/** Fields that need the keys for themselves. */
const TAKES_TEXT = 'input:not([type=checkbox]), select, textarea, [contenteditable=true]'
const TAKES_ARROWS = `${TAKES_TEXT}, [role=tab], [role=listbox], input[type=radio]`
const TAKES_SPACE = `${TAKES_TEXT}, button, summary, a[href], input[type=checkbox], [role=tab]`

/** What one key does; false where it means nothing here. */
export function actOnKey(
  key: string,
  target: Element | null,
  clock: PlaybackClock,
  timeLine: TimeLineController,
): boolean {
  const inside = (selector: string) => target?.closest(selector) != null
  const actions: Readonly<Record<string, readonly [string, () => void]>> = {
    ' ': [TAKES_SPACE, () => clock.toggle()],
    ArrowRight: [TAKES_ARROWS, () => clock.step(1)],
    ArrowLeft: [TAKES_ARROWS, () => clock.step(-1)],
    Home: [TAKES_ARROWS, () => clock.toStart()],
    End: [TAKES_ARROWS, () => clock.toEnd()],
    '+': [TAKES_TEXT, () => timeLine.zoom(1)],
    '=': [TAKES_TEXT, () => timeLine.zoom(1)],
    '-': [TAKES_TEXT, () => timeLine.zoom(-1)],
    ',': [TAKES_TEXT, () => timeLine.stepFrame(-1)],
    '.': [TAKES_TEXT, () => timeLine.stepFrame(1)],
    '1': [TAKES_TEXT, () => clock.setSpeed(1)],
    '2': [TAKES_TEXT, () => clock.setSpeed(10)],
    '3': [TAKES_TEXT, () => clock.setSpeed(100)],
  }
  const found = actions[key]
  if (found === undefined || inside(found[0])) return false
  found[1]()
  return true
}

/** Listens for the keys of the playback while a session is on the screen. */
export function usePlaybackKeys(
  clock: PlaybackClock | undefined,
  timeLine: TimeLineController | undefined,
): void {
  useEffect(() => {
    if (clock === undefined || timeLine === undefined) return
    const listen = (event: KeyboardEvent) => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return
      const target = event.target instanceof Element ? event.target : null
      if (target?.closest('dialog, [role=dialog]') != null) return
      if (actOnKey(event.key, target, clock, timeLine)) event.preventDefault()
    }
    document.addEventListener('keydown', listen)
    return () => document.removeEventListener('keydown', listen)
  }, [clock, timeLine])
}

/** For the list of keys on the screen. */
export const keyWords: readonly (readonly [string, string])[] = [
  ['Space', 'play, pause'],
  ['← →', 'step back, step on'],
  ['Home End', 'to start, to end'],
  ['1 2 3', 'real speed, 10×, 100×'],
  ['+ −', 'zoom in, zoom out'],
  [', .', 'previous, next frame'],
  ['Ctrl Enter', 'rehearse'],
]
