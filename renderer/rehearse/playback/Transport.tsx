import { sayClock } from '../timeline/viewport.ts'
import type { PlaybackClock, Speed } from './clock.ts'
import { SPEEDS } from './clock.ts'
import { useClockView } from './use-clock.ts'

const speedWords: Readonly<Record<Speed, string>> = { 1: 'Real speed', 10: '10×', 100: '100×' }

/**
 * Play, stop, step and speed, with where the play head is. Buttons that have nothing to do are not truly disabled:
 * that would take the keyboard away from whoever has just pressed one.
 */
export function Transport({ clock }: { clock: PlaybackClock }) {
  const { atNs, playing, speed, ended } = useClockView(clock)
  return (
    <section className="rh-transport" aria-label="Playback">
      <button
        type="button"
        className="rh-button"
        onClick={() => clock.toStart()}
        aria-disabled={atNs === 0}
        title="Home"
      >
        Start
      </button>
      <button
        type="button"
        className="rh-button"
        onClick={() => clock.step(-1)}
        aria-disabled={atNs === 0}
        title="Left arrow"
      >
        Step back
      </button>
      <button type="button" className="rh-button rh-play" onClick={() => clock.toggle()} title="Space">
        {playing ? 'Pause' : ended ? 'Play again' : 'Play'}
      </button>
      <button
        type="button"
        className="rh-button"
        onClick={() => clock.step(1)}
        aria-disabled={ended}
        title="Right arrow"
      >
        Step on
      </button>
      <button
        type="button"
        className="rh-button"
        onClick={() => clock.toEnd()}
        aria-disabled={ended}
        title="End"
      >
        End
      </button>
      <fieldset className="rh-segments">
        <legend className="rh-hidden">Speed</legend>
        {SPEEDS.map((each, i) => (
          <button
            key={each}
            type="button"
            className="rh-segment"
            aria-pressed={speed === each}
            title={`Key ${i + 1}`}
            onClick={() => clock.setSpeed(each)}
          >
            {speedWords[each]}
          </button>
        ))}
      </fieldset>
      <output className="rh-time rh-figures" aria-label="Time" aria-live="off">
        {sayClock(atNs)} <span className="rh-soft">of {sayClock(clock.endNs)}</span>
      </output>
    </section>
  )
}
