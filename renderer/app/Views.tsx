import { lazy, Suspense, useRef, useState } from 'react'
import type { Bench } from '../../shared/model/bench.ts'
import type { Route } from '../../shared/model/units.ts'
import type { AppClient } from '../api/client.ts'
import { BackToRun } from '../bench/guide/BackToRun.tsx'
import { adviceOf, askedOf } from '../bench/guide/hand-over.ts'
import type { RunDesk } from '../bench/guide/run-desk.ts'
import type { WriteDesk } from '../bench/program/desk.ts'
import { adviceAfterWrite, askedAfterWrite, imageIdOf } from '../bench/program/hand-over.ts'
import { settleAfterWrite } from '../bench/program/settle.ts'
import { type KeptPractice, noPractice } from '../diagnose/practice/use-practice.ts'
import type { KeptDiagnosis } from '../diagnose/use-diagnosis.ts'
import type { NewBenchProgress } from '../new-bench/NewBench.tsx'
import type { InitialChoice, Trial } from '../rehearse/setup/settings.ts'
import type { KeptRehearsal, Shown } from '../rehearse/use-rehearsal.ts'
import type { OpenBench } from '../state/bench-state.ts'
import type { Settings } from '../state/settings.ts'
import { Fallback } from './Fallback.tsx'
import type { ViewId } from './views.ts'

const load = {
  fleet: () => import('../fleet/FleetView.tsx'),
  firmware: () => import('../firmware/FirmwareView.tsx'),
  newBench: () => import('../new-bench/NewBench.tsx'),
  rehearse: () => import('../rehearse/RehearseView.tsx'),
  diagnose: () => import('../diagnose/DiagnoseView.tsx'),
  bench: () => import('../bench/BenchView.tsx'),
}
const FleetView = lazy(() => load.fleet().then(m => ({ default: m.FleetView })))
const FirmwareView = lazy(() => load.firmware().then(m => ({ default: m.FirmwareView })))
const NewBench = lazy(() => load.newBench().then(m => ({ default: m.NewBench })))
const RehearseView = lazy(() => load.rehearse().then(m => ({ default: m.RehearseView })))

const DiagnoseView = lazy(() => load.diagnose().then(m => ({ default: m.DiagnoseView })))
const BenchView = lazy(() => load.bench().then(m => ({ default: m.BenchView })))

/** Fetches every view while nothing else is going on, so that none makes anybody wait. */
export function fetchViewsWhenIdle(): void {
  const fetchAll = async () => {
    // One that does not come is told of when it is wanted.
    for (const one of Object.values(load)) await one().catch(() => {})
  }
  requestIdleCallback(() => void fetchAll(), { timeout: 3000 })
}

/** What another view hands over to the rehearsal. */
export interface HandOver {
  /** The file that a new bench was made with. */
  readonly image?: { readonly fileName: string; readonly octets: Uint8Array }
  readonly route?: Route
  /** An image that was chosen in the firmware view, for the receiver that it was chosen for. */
  readonly choice?: InitialChoice & { readonly receiverId: string | undefined }
  /** A cause or a repair to look at, on a copy of the bench. */
  readonly trial?: Trial
}

/** What was handed over is for one visit. The next starts as it was left, but for the file, which is not remembered. */
export const stillHanded = ({ image }: HandOver): HandOver => ({ image })

export interface ViewsProps {
  readonly view: ViewId | 'new-bench'
  readonly client: AppClient
  readonly settings: Settings
  readonly open: OpenBench | undefined
  readonly handOver: HandOver | undefined
  /** Half-answered questions, kept while somebody looks at another view. */
  readonly newBench: { current: NewBenchProgress | undefined }
  /** The last rehearsal, kept likewise. */
  readonly rehearsal: KeptRehearsal
  /** The diagnosis, kept likewise. */
  readonly diagnosis: KeptDiagnosis
  readonly practice: KeptPractice
  /** The guided run, likewise. */
  readonly guide: RunDesk
  /** Writes through a programmer, likewise. */
  readonly program: WriteDesk
  /** Opens a copy of a bench and stays where it is. */
  readonly onOpenBench: (bench: Bench, receiverId: string) => void
  readonly onChangeBench: (label: string, next: Bench) => void
  readonly onChooseReceiver: (id: string) => void
  readonly onUndo: () => void
  readonly onGo: (view: ViewId) => void
  readonly onRehearse: (handOver?: HandOver) => void
  readonly onTry: (trial: Trial) => void
  readonly onNewBench: (bench: Bench, receiverId: string, handOver: HandOver) => void
  readonly onCancelNewBench: () => void
}

/** The view that is shown. One that breaks takes nothing else with it. */
export function Views(props: ViewsProps) {
  const [tries, setTries] = useState(0)
  return (
    <Suspense fallback={<p className="welcome">One moment…</p>}>
      <Fallback key={`${props.view} ${tries}`} onAgain={() => setTries(tries + 1)}>
        <View {...props} />
      </Fallback>
    </Suspense>
  )
}

function View(props: ViewsProps) {
  const { view, open, handOver } = props
  if (view === 'new-bench')
    return (
      <NewBench
        kept={props.newBench}
        onDone={(bench, receiverId, image, route) => props.onNewBench(bench, receiverId, { image, route })}
        onCancel={props.onCancelNewBench}
      />
    )
  if (view === 'bench') return <OnTheBench {...props} />
  if (open === undefined) return null
  const shared = {
    bench: open.bench,
    onChangeBench: props.onChangeBench,
    receiverId: open.receiverId,
    onChooseReceiver: props.onChooseReceiver,
  }
  const findOut = () => props.onGo('firmware')
  if (view === 'fleet')
    return (
      <FleetView
        {...shared}
        memory={props.settings.fleet}
        onRehearse={() => props.onRehearse()}
        onFindOut={findOut}
      />
    )
  if (view === 'firmware')
    return (
      <BackToRun guide={props.guide} onBack={() => props.onGo('bench')}>
        <FirmwareView
          {...shared}
          client={props.client}
          onUndo={props.onUndo}
          onFleet={() => props.onGo('fleet')}
          onRehearse={(image, route) =>
            props.onRehearse({ choice: { image, route, receiverId: open.receiverId } })
          }
        />
      </BackToRun>
    )
  if (view === 'diagnose')
    return (
      <BackToRun guide={props.guide} onBack={() => props.onGo('bench')}>
        <DiagnoseView
          {...shared}
          client={props.client}
          kept={props.diagnosis}
          practice={props.practice}
          onFindOut={findOut}
          onTry={props.onTry}
        />
      </BackToRun>
    )
  const trial = handOver?.trial
  if (trial !== undefined && trial.receiverId === open.receiverId)
    return <TrialView {...shared} client={props.client} trial={trial} onFindOut={findOut} onGo={props.onGo} />
  return (
    <RehearseView
      {...shared}
      onFindOut={findOut}
      client={props.client}
      initialImage={handOver?.image}
      initialRoute={handOver?.route}
      initialChoice={handOver?.choice?.receiverId === open.receiverId ? handOver?.choice : undefined}
      memory={props.settings.rehearse}
      kept={props.rehearsal}
      onBench={() => props.onGo('bench')}
    />
  )
}

/** A run goes on where no bench is open, too: it holds all that it needs. */
function OnTheBench(props: ViewsProps) {
  const { open, diagnosis, practice } = props
  return (
    <BenchView
      bench={open?.bench}
      receiverId={open?.receiverId}
      client={props.client}
      memory={props.settings.rehearse}
      rehearsal={props.rehearsal}
      guide={props.guide}
      program={props.program}
      onOpenBench={props.onOpenBench}
      onWriteDiagnosed={(receiverId, found, image, sessionId) => {
        const imageId = imageIdOf(open?.bench, image)
        const asked = askedAfterWrite(
          receiverId,
          found,
          diagnosis.current?.asked,
          imageId,
          sessionId ?? undefined,
        )
        diagnosis.current = { asked, diagnosis: undefined }
        practice.current = { ...noPractice, results: practice.current.results }
        props.onChooseReceiver(receiverId)
        props.onGo('diagnose')
      }}
      adviceBefore={lane => adviceAfterWrite(diagnosis.current, lane)}
      onSettled={isThat => settleAfterWrite(props.client, open?.bench, diagnosis, isThat)}
      onChangeBench={props.onChangeBench}
      onChooseReceiver={props.onChooseReceiver}
      onFindOut={() => props.onGo('firmware')}
      onRehearse={choice =>
        props.onRehearse(choice && { choice: { ...choice, receiverId: open?.receiverId } })
      }
      onStage={() => props.onGo('firmware')}
      adviceOf={(receiverId, symptom) => adviceOf(diagnosis.current, receiverId, symptom)}
      onDiagnose={(runbook, symptom, looks) => {
        const asked = askedOf(runbook, symptom, looks, diagnosis.current?.asked)
        diagnosis.current = { asked, diagnosis: undefined }
        practice.current = { ...noPractice, results: practice.current.results }
        props.onChooseReceiver(runbook.receiver.id)
        props.onGo('diagnose')
      }}
    />
  )
}

type TrialViewProps = Pick<ViewsProps, 'client' | 'onChooseReceiver' | 'onGo'> & {
  readonly trial: Trial
  readonly receiverId: string | undefined
  readonly onFindOut: () => void
}

/** A rehearsal that leaves no trace: neither the bench, nor its last rehearsal, nor what is remembered changes. */
function TrialView({ trial, onGo, ...rest }: TrialViewProps) {
  const kept = useRef<Shown>(undefined)
  return (
    <RehearseView
      {...rest}
      bench={trial.bench}
      onChangeBench={() => {}}
      trial={trial}
      onEndTrial={() => onGo('diagnose')}
      memory={forgetful}
      kept={kept}
    />
  )
}
const forgetful = { getItem: () => null, setItem: () => {} }
