import { useEffect, useRef, useState, useSyncExternalStore } from 'react'
import type { RunDesk, RunSnapshot } from './run-desk.ts'

export const useRun = (desk: RunDesk): RunSnapshot => useSyncExternalStore(desk.subscribe, desk.get)

/** The time, while something is counted. */
export function useNow(everyMs = 500): number {
  const [nowMs, setNow] = useState(Date.now)
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), everyMs)
    return () => clearInterval(timer)
  }, [everyMs])
  return nowMs
}

/** Keeps the screen on while a run is under way, where the browser can. Refused or not there, it stays as it was. */
export function useWakeLock(isWanted: boolean): void {
  useEffect(() => {
    if (!isWanted || !('wakeLock' in navigator)) return
    let held: WakeLockSentinel | undefined
    let isGone = false
    const ask = async () => {
      if (document.visibilityState !== 'visible') return
      try {
        held = await navigator.wakeLock.request('screen')
        if (isGone) await held.release()
      } catch {
        return
      }
    }
    // The browser lets go of it whenever the window is hidden.
    const again = () => void ask()
    void ask()
    document.addEventListener('visibilitychange', again)
    return () => {
      isGone = true
      document.removeEventListener('visibilitychange', again)
      void held?.release().catch(() => {})
    }
  }, [isWanted])
}

const TONE_HERTZ = 660
const TONE_SECONDS = 0.4

/** One soft tone, once for each `key`, as soon as it is due. */
export function useTone(isOn: boolean, isDue: boolean, key: string): void {
  const sounded = useRef('')
  useEffect(() => {
    if (!isOn || !isDue || sounded.current === key) return
    sounded.current = key
    playTone()
  }, [isOn, isDue, key])
}

function playTone(): void {
  try {
    const context = new AudioContext()
    const volume = context.createGain()
    const tone = context.createOscillator()
    tone.frequency.value = TONE_HERTZ
    volume.gain.setValueAtTime(0.2, context.currentTime)
    volume.gain.exponentialRampToValueAtTime(0.001, context.currentTime + TONE_SECONDS)
    tone.connect(volume).connect(context.destination)
    tone.start()
    tone.stop(context.currentTime + TONE_SECONDS)
    tone.onended = () => void context.close()
  } catch {
    // A machine without sound is told nothing by a tone, and all of it in words.
  }
}
