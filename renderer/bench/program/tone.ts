import { useEffect, useRef } from 'react'
import type { LaneReport } from '../../../shared/bench-run/lane.ts'

/** Tones for whoever has their eyes on the table: two that rise where it went well, one low one where it did not. */

interface Note {
  readonly hertz: number
  readonly atSeconds: number
  readonly forSeconds: number
}

/** @param isGood updated, or sent and accepted */
export const notesFor = (isGood: boolean): readonly Note[] =>
  isGood
    ? [
        { hertz: 660, atSeconds: 0, forSeconds: 0.18 },
        { hertz: 880, atSeconds: 0.2, forSeconds: 0.3 },
      ]
    : [{ hertz: 220, atSeconds: 0, forSeconds: 0.7 }]

/** Lanes that have ended since `before`, each once. */
export const endedSince = (
  before: ReadonlySet<string>,
  lanes: readonly LaneReport[],
): readonly LaneReport[] => lanes.filter(lane => lane.end !== null && !before.has(lane.lane))

/** Sounds once for each write that ends while this is shown. */
export function useTones(isOn: boolean, lanes: readonly LaneReport[]): void {
  const heard = useRef<Set<string>>(undefined)
  useEffect(() => {
    const ended = lanes.filter(lane => lane.end !== null)
    // What had ended before this came on the screen is no news.
    heard.current ??= new Set(ended.map(lane => lane.lane))
    const fresh = endedSince(heard.current, lanes)
    for (const { lane } of fresh) heard.current.add(lane)
    if (!isOn || fresh.length === 0) return
    play(notesFor(fresh.every(({ end }) => end?.outcome === 'updated' || end?.outcome === 'unproven')))
  }, [isOn, lanes])
}

function play(notes: readonly Note[]): void {
  try {
    const context = new AudioContext()
    let last: OscillatorNode | undefined
    for (const { hertz, atSeconds, forSeconds } of notes) {
      const volume = context.createGain()
      const tone = context.createOscillator()
      const startAt = context.currentTime + atSeconds
      tone.frequency.value = hertz
      volume.gain.setValueAtTime(0.2, startAt)
      volume.gain.exponentialRampToValueAtTime(0.001, startAt + forSeconds)
      tone.connect(volume).connect(context.destination)
      tone.start(startAt)
      tone.stop(startAt + forSeconds)
      last = tone
    }
    if (last) last.onended = () => void context.close()
  } catch {
    // A machine without sound is told nothing by a tone, and all of it in words.
  }
}

const KEPT = 'preflash.tone'
type Keep = Pick<Storage, 'getItem' | 'setItem'>

export const recallTone = (memory: Keep): boolean => memory.getItem(KEPT) !== 'off'
export const keepTone = (memory: Keep, isOn: boolean): void => memory.setItem(KEPT, isOn ? 'on' : 'off')
