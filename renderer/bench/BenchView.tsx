import { type Bench, findType } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { isKnown } from '../../shared/model/units.ts'
import type { AppClient } from '../api/client.ts'
import type { InitialChoice } from '../rehearse/setup/settings.ts'
import { useLibraryImages } from '../rehearse/setup/use-library-images.ts'
import { type KeptRehearsal, useRehearsal } from '../rehearse/use-rehearsal.ts'
import { Button } from '../ui/Button.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { ReceiverChoice } from '../ui/ReceiverChoice.tsx'
import { GuidedRun, type RunHelp } from './guide/GuidedRun.tsx'
import { GuideStart } from './guide/GuideStart.tsx'
import { LeftRun } from './guide/LeftRun.tsx'
import type { RunDesk } from './guide/run-desk.ts'
import { useRun } from './guide/use-run.ts'
import { PlanBar } from './plan/PlanBar.tsx'
import { usePlan } from './plan/use-plan.ts'
import { isLive, type WriteDesk } from './program/desk.ts'
import { BrokenOff } from './program/Interrupted.tsx'
import type { AfterHelp } from './program/LaneEnd.tsx'
import { DeskProblems, Lanes } from './program/Lanes.tsx'
import { ProgramWay } from './program/ProgramWay.tsx'
import { Recovery } from './program/Recovery.tsx'
import { useWrites } from './program/use-desk.ts'
import { useKeptFocus } from './use-kept-focus.ts'
import { WAYS } from './ways.ts'
import './bench.css'

export interface BenchViewProps extends Omit<RunHelp, 'bench' | 'desk'> {
  /** Undefined where only a run is gone on with, and no bench is open. */
  readonly bench: Bench | undefined
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  /** To the questions about a receiver whose type is not known. */
  readonly onFindOut: () => void
  /** To the Rehearse view, with this image and route. */
  readonly onRehearse: (choice: InitialChoice | undefined) => void
  readonly client: AppClient
  readonly memory: Pick<Storage, 'getItem' | 'setItem'>
  /** Where the last rehearsal waits while another view is shown. */
  readonly rehearsal: KeptRehearsal
  readonly guide: RunDesk
  readonly program: WriteDesk
  readonly onOpenBench: (bench: Bench, receiverId: string) => void
  /** To the Diagnose view, with what a write through a programmer has shown. */
  readonly onWriteDiagnosed: AfterHelp['onDiagnose']
  readonly adviceBefore: AfterHelp['adviceBefore']
  readonly onSettled: AfterHelp['onSettled']
}

/** Do it now, and kill nothing. A run that is under way has the view to itself. */
export function BenchView(props: BenchViewProps) {
  const { bench, receiverId, guide, program } = props
  const { run, left } = useRun(guide)
  const { interrupted, recovery, lanes } = useWrites(program)
  const box = useKeptFocus()
  if (run !== undefined) return <GuidedRun {...props} desk={guide} run={run} />
  // What is live stands first, whatever else waits.
  const isWriting = lanes.some(isLive)
  const leftRun = { onGoOn: () => guide.takeUp(), onStop: () => guide.stopLeft() }
  const toProgram = (id: string) => {
    program.prefer('program')
    props.onChooseReceiver(id)
  }
  const receiver = bench?.receivers.find(r => r.id === receiverId)
  const type = receiver && bench && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  return (
    <div className="bn" ref={box}>
      <Head bench={bench} receiverId={receiver?.id} onChooseReceiver={props.onChooseReceiver} />
      <div className="bn-first">
        {left !== undefined && !isWriting && <LeftRun {...leftRun} run={left} />}
        <BrokenOff
          sessions={interrupted.filter(one => one.sessionId !== recovery?.sessionId)}
          onPutRight={one => program.recover(one.sessionId, one.stateWords)}
          onSettle={id => program.settle(id)}
        />
        {recovery && (
          <Recovery
            recovery={recovery}
            desk={program}
            bench={bench}
            onChooseReceiver={toProgram}
            onOpenBench={props.onOpenBench}
          />
        )}
        <DeskProblems desk={program} />
        <Lanes
          bench={bench}
          client={props.client}
          desk={program}
          memory={props.memory}
          onChangeBench={props.onChangeBench}
          onDiagnose={props.onWriteDiagnosed}
          adviceBefore={props.adviceBefore}
          onSettled={props.onSettled}
          onNextReceiver={toProgram}
        />
        {left !== undefined && isWriting && <LeftRun {...leftRun} run={left} />}
      </div>
      {bench === undefined ? null : receiver !== undefined && type !== undefined ? (
        <ForReceiver key={receiver.id} {...props} bench={bench} receiver={receiver} />
      ) : receiver !== undefined && !isKnown(receiver.typeId) ? (
        <EmptyState title="The type of this receiver is not known yet">
          <p>Nothing is written to a receiver of which nobody knows what it is.</p>
          <Button kind="primary" onClick={props.onFindOut}>
            Find out what it is
          </Button>
        </EmptyState>
      ) : (
        <EmptyState title="No receiver is chosen">
          <p>
            {bench.receivers.length > 0
              ? 'Choose the receiver that is to be updated, above.'
              : 'Add the receiver that is to be updated in the Fleet view, with its type.'}
          </p>
        </EmptyState>
      )}
    </div>
  )
}

interface HeadProps {
  readonly bench: Bench | undefined
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
}

function Head({ bench, receiverId, onChooseReceiver }: HeadProps) {
  return (
    <header className="bn-head">
      <h1>Bench</h1>
      {bench !== undefined && bench.receivers.length > 0 && (
        <ReceiverChoice receivers={bench.receivers} receiverId={receiverId} onChoose={onChooseReceiver} />
      )}
    </header>
  )
}

function ForReceiver(props: BenchViewProps & { readonly bench: Bench; readonly receiver: ReceiverUnit }) {
  const { bench, receiver, client } = props
  const { way } = useWrites(props.program)
  const rehearsal = useRehearsal(client, props.rehearsal, receiver.id)
  const plan = usePlan(bench, receiver.id, rehearsal.shown, props.memory)
  const library = useLibraryImages(client)
  const shared = { bench, receiver, plan, rehearsal }
  const choice =
    plan.image !== undefined && plan.image.kind !== 'file'
      ? { image: plan.image, route: plan.route }
      : undefined
  return (
    <div className={way === 'program' ? 'bn-body bn-body-wide' : 'bn-body'}>
      {WAYS.length > 1 ? (
        <nav className="bn-ways" aria-label="Ways to write">
          {WAYS.map(({ id, name, says }) => (
            <button key={id} type="button" aria-current={way === id} onClick={() => props.program.prefer(id)}>
              {name}
              <small>{says}</small>
            </button>
          ))}
        </nav>
      ) : (
        <div className="bn-way">
          <h2>{WAYS[0].name}</h2>
          <p>{WAYS[0].says}</p>
        </div>
      )}
      {way === 'guide' ? (
        <>
          <PlanBar bench={bench} receiverId={receiver.id} library={library ?? []} plan={plan} />
          <GuideStart
            {...shared}
            client={client}
            desk={props.guide}
            onRehearse={() => props.onRehearse(plan.rehearsed ? undefined : choice)}
          />
        </>
      ) : (
        <ProgramWay
          {...shared}
          client={client}
          desk={props.program}
          onRehearse={() => props.onRehearse(plan.rehearsed ? undefined : choice)}
          onChangeBench={props.onChangeBench}
        />
      )}
    </div>
  )
}
