import type { LibraryEntry } from '../../../shared/library/entry.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Route } from '../../../shared/model/units.ts'
import { FaultPanel } from './FaultPanel.tsx'
import { ImagePicker } from './ImagePicker.tsx'
import type { SortedProblems } from './problems.ts'
import { ReceiverPicker } from './ReceiverPicker.tsx'
import { MAX_SEED, readSeed, type Settings } from './settings.ts'

interface SetupPanelProps {
  readonly bench: Bench
  readonly receiverId: string | undefined
  readonly settings: Settings
  readonly library: readonly LibraryEntry[]
  readonly problems: SortedProblems
  readonly busy: boolean
  /** The last rehearsal that was asked for was cancelled. */
  readonly cancelled: boolean
  /** A rehearsal is on the screen, so this would be another one. */
  readonly again: boolean
  readonly onChooseReceiver: (id: string) => void
  readonly onFindOut: () => void
  readonly onChange: (settings: Settings) => void
  readonly onFiles: (files: readonly File[]) => void
  readonly onRehearse: () => void
}

const routeWords: Readonly<Record<Route, string>> = { cable: 'By cable', wireless: 'Wireless' }

/** What is rehearsed: receiver, image, route, seed and faults. */
export function SetupPanel(props: SetupPanelProps) {
  const { bench, receiverId, settings, problems, busy, onChange } = props
  return (
    <form
      className="rh-setup"
      aria-label="Set up the rehearsal"
      onSubmit={event => {
        event.preventDefault()
        props.onRehearse()
      }}
    >
      <div className="rh-setup-fields">
        <ReceiverPicker
          bench={bench}
          receiverId={receiverId}
          problem={problems.receiver}
          onChoose={props.onChooseReceiver}
          onFindOut={props.onFindOut}
        />
        <ImagePicker
          bench={bench}
          receiverId={receiverId}
          settings={settings}
          library={props.library}
          problem={problems.image}
          versionProblem={problems.version}
          reachesOutside={problems.reachesOutside}
          onChange={onChange}
          onFiles={props.onFiles}
        />
        <section className="rh-setting" aria-labelledby="rh-route">
          <h2 id="rh-route">Route</h2>
          <fieldset className="rh-segments" aria-labelledby="rh-route">
            {(['cable', 'wireless'] as const).map(route => (
              <label key={route} className="rh-segment">
                <input
                  type="radio"
                  name="rh-route"
                  value={route}
                  checked={settings.route === route}
                  onChange={() => onChange({ ...settings, route })}
                />
                {routeWords[route]}
              </label>
            ))}
          </fieldset>
        </section>
        <FaultPanel settings={settings} problems={problems.faults} onChange={onChange} />
        <SeedField settings={settings} problem={problems.seed} onChange={onChange} />
        {problems.other.map(text => (
          <p key={text} className="rh-problem" role="alert">
            {text}
          </p>
        ))}
      </div>
      <div className="rh-setup-act">
        <p className="rh-cancelled" role="status">
          {props.cancelled ? cancelledWords(props.again) : ''}
        </p>
        <button type="submit" className="rh-button rh-primary" disabled={busy} title="Ctrl+Enter">
          {busy ? 'Rehearsing…' : props.again ? 'Rehearse again' : 'Rehearse'}
        </button>
      </div>
    </form>
  )
}

const cancelledWords = (isAnotherThere: boolean): string =>
  `Cancelled: the rehearsal was stopped and nothing was kept of it. The set-up is as it was${
    isAnotherThere ? '; the rehearsal before it is still shown' : ''
  }.`

function SeedField(props: {
  settings: Settings
  problem: string | undefined
  onChange: (s: Settings) => void
}) {
  const { settings, problem, onChange } = props
  const next = () =>
    onChange({ ...settings, seed: String(((readSeed(settings.seed) ?? 0) + 1) % (MAX_SEED + 1)) })
  return (
    <section className="rh-setting">
      <label className="rh-field rh-field-inline">
        Seed
        <input
          inputMode="numeric"
          className="rh-figures"
          value={settings.seed}
          aria-invalid={problem !== undefined}
          onChange={event => onChange({ ...settings, seed: event.target.value })}
        />
        <button type="button" className="rh-link-button" onClick={next}>
          Next seed
        </button>
      </label>
      <p className="rh-soft rh-small">The same seed gives the same session, to the bit.</p>
      {problem === undefined ? null : (
        <p className="rh-problem" role="alert">
          {problem}
        </p>
      )}
    </section>
  )
}
