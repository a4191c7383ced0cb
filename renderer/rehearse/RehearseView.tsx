import { useCallback, useEffect, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import type { DeviceId } from '../../shared/sim/trace.ts'
import type { RehearseClient } from './client.ts'
import { BenchDiagram } from './diagram/BenchDiagram.tsx'
import { devicesOf } from './diagram/devices.ts'
import { backToSetup, handOverFocus, useRehearseKey } from './focus.ts'
import { PrintEvents, PrintHead } from './Print.tsx'
import { ExplainDevice } from './playback/Explain.tsx'
import { usePlaybackKeys } from './playback/keys.ts'
import { useClockDriver } from './playback/use-clock.ts'
import { SessionView } from './SessionView.tsx'
import { SidePanel } from './SidePanel.tsx'
import { readChosen } from './setup/files.ts'
import { noProblems, type SortedProblems } from './setup/problems.ts'
import { SetupPanel } from './setup/SetupPanel.tsx'
import {
  freshSettings,
  type InitialChoice,
  keepSettings,
  MAX_SEED,
  readSeed,
  recallSettings,
  type Settings,
  type Trial,
  trialSettings,
  withChoice,
} from './setup/settings.ts'
import { useFileDrop } from './setup/use-file-drop.ts'
import { useLibraryImages } from './setup/use-library-images.ts'
import { TrialBand } from './TrialBand.tsx'
import { type KeptRehearsal, useRehearsal } from './use-rehearsal.ts'
import { Working } from './working/Working.tsx'
import './rehearse.css'

export interface RehearseViewProps {
  readonly bench: Bench
  /** For changes of the bench that this view offers, with words for undo. */
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  /** To the questions about a receiver whose type is not known. */
  readonly onFindOut: () => void
  readonly client: RehearseClient
  readonly initialImage?: { readonly fileName: string; readonly octets: Uint8Array }
  /** Given for a first rehearsal, which starts without what was set last time. */
  readonly initialRoute?: Route
  /** What was chosen in another view. */
  readonly initialChoice?: InitialChoice
  /** Given where something is tried: it is rehearsed at once, on the bench of the trial. */
  readonly trial?: Trial
  readonly onEndTrial?: () => void
  /** To the bench, where what was rehearsed is done for real. */
  readonly onBench?: () => void
  /** Where the last rehearsal waits while another view is shown. */
  readonly kept: KeptRehearsal
  /** Where the set-up is remembered; the browser's own storage where nothing else is given. */
  readonly memory?: Pick<Storage, 'getItem' | 'setItem'>
}

/** One receiver update from set-up to outcome, on simulated devices. */
export function RehearseView(props: RehearseViewProps) {
  const {
    bench,
    receiverId,
    client,
    initialImage,
    initialRoute,
    initialChoice,
    trial,
    memory = localStorage,
  } = props
  const [settings, setSettings] = useState<Settings>(() =>
    trial === undefined
      ? withChoice(
          {
            ...(initialRoute === undefined
              ? recallSettings(memory)
              : { ...freshSettings, route: initialRoute }),
            file: initialImage,
          },
          initialChoice,
        )
      : trialSettings(trial),
  )
  const library = useLibraryImages(client)
  const { libraryId } = settings
  useEffect(() => {
    // One that has been removed since last time would only be refused.
    if (libraryId !== undefined && library?.every(entry => entry.id !== libraryId))
      setSettings(before => ({ ...before, libraryId: undefined }))
  }, [library, libraryId])
  const [fileProblem, setFileProblem] = useState<string>()
  const [device, setDevice] = useState<DeviceId>()
  const [setupOpen, setSetupOpen] = useState(false)
  const rehearsal = useRehearsal(client, props.kept, receiverId)
  const { shown, run, wasCancelled } = rehearsal
  useEffect(() => {
    if (wasCancelled) backToSetup()
  }, [wasCancelled])
  useClockDriver(shown?.clock)
  usePlaybackKeys(shown?.clock, shown?.timeLine)
  useEffect(() => keepSettings(memory, settings), [memory, settings])

  const start = useCallback(
    (with_: Settings) => {
      setFileProblem(undefined)
      setSetupOpen(false)
      return run(bench, receiverId, with_).then(end => {
        if (end === 'cancelled') setSetupOpen(true)
        else handOverFocus()
        return end
      })
    },
    [run, bench, receiverId],
  )
  const takeFiles = useCallback(async (files: readonly File[]) => {
    const read = await readChosen(files)
    if (typeof read === 'string') return setFileProblem(read)
    setFileProblem(undefined)
    setSettings(before => ({
      ...before,
      file: read,
      dropOutside: false,
      declaredTypeId: undefined,
      declaredVersion: '',
    }))
  }, [])
  // biome-ignore lint/correctness/useExhaustiveDependencies: a trial plays once, when the view opens
  useEffect(() => {
    if (trial) void start(settings)
  }, [])
  const dragging = useFileDrop(takeFiles)
  useRehearseKey(() => void start(settings))
  const anotherSeed = () => {
    const next = { ...settings, seed: String(((readSeed(settings.seed) ?? 0) + 1) % (MAX_SEED + 1)) }
    setSettings(next)
    void start(next).then(end => {
      if (end === 'cancelled')
        setSettings(now => (now.seed === next.seed ? { ...now, seed: settings.seed } : now))
    })
  }
  const problems: SortedProblems =
    fileProblem === undefined ? rehearsal.problems : { ...noProblems, image: fileProblem }

  return (
    <div
      className={`rh-view${shown === undefined ? '' : ' rh-has-session'}${setupOpen ? ' rh-setup-open' : ''}`}
    >
      <header className="rh-band">
        <h1>Rehearsal</h1>
        <p>Simulated. Nothing is written to a real receiver.</p>
        {shown === undefined ? null : (
          <button
            type="button"
            className="rh-button rh-setup-toggle"
            aria-expanded={setupOpen}
            onClick={() => setSetupOpen(!setupOpen)}
          >
            {setupOpen ? 'Close set-up' : 'Set-up'}
          </button>
        )}
      </header>
      {trial && <TrialBand trial={trial} onEnd={props.onEndTrial} />}
      {shown === undefined ? null : <PrintHead session={shown.session} />}
      <div className="rh-columns">
        <SetupPanel
          bench={bench}
          receiverId={receiverId}
          settings={settings}
          library={library ?? []}
          problems={problems}
          busy={rehearsal.busy}
          cancelled={wasCancelled}
          again={shown !== undefined}
          onChooseReceiver={id => {
            rehearsal.clearProblems()
            props.onChooseReceiver(id)
          }}
          onFindOut={props.onFindOut}
          onChange={next => {
            rehearsal.clearProblems()
            setSettings(next)
          }}
          onFiles={takeFiles}
          onRehearse={() => void start(settings)}
        />
        <section className="rh-main" aria-label="Session">
          {shown === undefined ? (
            <BeforeFirst {...props} settings={settings} device={device} onSelect={setDevice} />
          ) : (
            <SessionView shown={shown} selected={device} onSelect={setDevice} />
          )}
        </section>
        {shown === undefined ? null : (
          <SidePanel
            shown={shown}
            busy={rehearsal.busy}
            device={device}
            onAnotherSeed={anotherSeed}
            onBench={props.onBench}
          />
        )}
        {rehearsal.underWay && (
          <Working
            key={rehearsal.underWay.runId}
            {...rehearsal.underWay}
            client={client}
            onCancel={rehearsal.cancel}
          />
        )}
      </div>
      {shown === undefined ? null : <PrintEvents session={shown.session} />}
      {dragging ? <p className="rh-drop">Drop the image here: Intel HEX or raw binary.</p> : null}
    </div>
  )
}

interface BeforeFirstProps extends RehearseViewProps {
  readonly settings: Settings
  readonly device: DeviceId | undefined
  readonly onSelect: (device: DeviceId | undefined) => void
}

/** Before the first rehearsal: the bench as it is set up, and what will come. */
function BeforeFirst({ bench, receiverId, settings, device, onSelect }: BeforeFirstProps) {
  if (receiverId === undefined)
    return (
      <p className="rh-empty">Choose a receiver on the left, an image and a route. Then press Rehearse.</p>
    )
  const words = device && devicesOf(bench, receiverId, settings.route).get(device)
  return (
    <>
      <BenchDiagram
        bench={bench}
        receiverId={receiverId}
        route={settings.route}
        selected={device}
        onSelect={onSelect}
      />
      {words ? (
        <ExplainDevice words={words} state={undefined} />
      ) : (
        <p className="rh-empty">
          This is the bench as it is set up. Rehearse plays the whole update on simulated devices: the traffic
          to the last bit, the flash pages, the supply, and how it ends. A click on a device explains it.
        </p>
      )}
    </>
  )
}
