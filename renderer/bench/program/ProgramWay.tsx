import { useEffect, useMemo, useRef, useState } from 'react'
import { notSpoken, saySpoken, typeOfReceiver } from '../../../shared/bench-run/spoken.ts'
import type { LibraryEntry } from '../../../shared/library/entry.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import { useLibraryImages } from '../../rehearse/setup/use-library-images.ts'
import { Notice } from '../../ui/Notice.tsx'
import { PlanBar } from '../plan/PlanBar.tsx'
import type { WayProps } from '../ways.ts'
import { useWiringCheck } from '../wiring/use-wiring.ts'
import { WiringPanel } from '../wiring/WiringPanel.tsx'
import type { ProgramClient } from './client.ts'
import { DialectEditor } from './DialectEditor.tsx'
import type { WriteDesk } from './desk.ts'
import { type Draft, lineOf, planOf, portsOf, suited, usualBaud } from './draft.ts'
import { PortStep } from './PortStep.tsx'
import { Preconditions } from './Preconditions.tsx'
import { RehearseStep } from './RehearseStep.tsx'
import { Step } from './Step.tsx'
import { standOf } from './stand.ts'
import { nextStep, type Progress, STEPS, type StepId, stepAfter, stepState } from './steps.ts'
import { useCheck } from './use-check.ts'
import { useWrites } from './use-desk.ts'
import { type DialectsDesk, useDialects } from './use-dialects.ts'
import { type PortsDesk, usePorts } from './use-ports.ts'
import { What } from './What.tsx'
import { WriteStep } from './WriteStep.tsx'
import { isUsable, lastWords, livePorts, portName, portSays } from './words.ts'
import './program.css'

export interface ProgramWayProps extends WayProps {
  readonly bench: Bench
  readonly client: ProgramClient
  readonly desk: WriteDesk
  readonly onChangeBench: (label: string, next: Bench) => void
}

/** A programmer writes it: from the port to the receiver that runs the new image, one step after the other. */
export function ProgramWay(props: ProgramWayProps) {
  const { client } = props
  const { editing, lanes } = useWrites(props.desk)
  const ports = usePorts(client, livePorts(lanes).join())
  const dialects = useDialects(client)
  const draft = useDraft(props)
  const way = useRef<HTMLDivElement>(null)
  const wasEditing = useRef(false)
  const isEditing = editing !== undefined
  useEffect(() => {
    // Back from the editor, the keyboard goes on from the step that led there.
    if (wasEditing.current && !isEditing)
      way.current?.querySelector<HTMLElement>('.pg-step-open h3 button')?.focus()
    wasEditing.current = isEditing
  }, [isEditing])
  if (editing !== undefined)
    return (
      <DialectEditor
        client={client}
        writes={props.desk}
        desk={dialects}
        name={editing.name}
        onSaved={(dialect, text) => {
          draft.change({ dialect, baud: undefined })
          props.desk.edit({ ...editing, name: dialect, text })
        }}
        typed={editing.text}
        exchange={editing.exchange ?? ''}
        onType={typed => props.desk.type(typed)}
        onClose={() => props.desk.edit(undefined)}
      />
    )
  return (
    <div className="pg" ref={way}>
      <Way
        {...props}
        ports={ports}
        dialects={dialects}
        draft={draft.draft}
        onChange={draft.change}
        onEdit={name => props.desk.edit({ name, text: undefined })}
      />
    </div>
  )
}

function useDraft({ bench, desk, receiver }: Pick<ProgramWayProps, 'bench' | 'desk' | 'receiver'>) {
  const { drafts } = useWrites(desk)
  const draftNow = () => suited(bench, receiver.id, desk.draftOf(receiver.id), desk.hasDraft(receiver.id))
  // biome-ignore lint/correctness/useExhaustiveDependencies: the desk reads its drafts
  const draft = useMemo(draftNow, [bench, desk, receiver.id, drafts])
  const change = (part: Partial<Draft>) => desk.setDraft(receiver.id, { ...draftNow(), ...part })
  return { draft, change }
}

interface WayStepsProps extends ProgramWayProps {
  readonly ports: PortsDesk
  readonly dialects: DialectsDesk
  readonly draft: Draft
  readonly onChange: (part: Partial<Draft>) => void
  readonly onEdit: (name: string | undefined) => void
}

/** What is known of the plan so far: the plan, what holds, how far it has come. */
function useStanding({ bench, receiver, plan, client, ports, dialects, draft }: WayStepsProps) {
  const [rehearsals, setRehearsals] = useState(0)
  const { mode, port, ports: several, wiring, dialect, baud } = draft
  // biome-ignore lint/correctness/useExhaustiveDependencies: the plan rests on these parts of the draft alone
  const written = useMemo(
    () => planOf(bench, receiver.id, plan.image, plan.settings.dropOutside, draft),
    [bench, receiver.id, plan.image, plan.settings.dropOutside, mode, port, several, wiring, dialect, baud],
  )
  const stamp = `${ports.changes} ${rehearsals}`
  const [key, setKey] = useState('')
  const answers = draft.cautions.key === key ? draft.cautions.answers : NONE
  const { check, problems } = useCheck(client, written, answers, stamp)
  if (check !== undefined && check.key !== key) setKey(check.key)
  const listed = dialects.dialects.find(one => one.name === dialect)
  const line = useMemo(() => lineOf(listed), [listed])
  const wired = useWiringCheck(bench, receiver.id, wiring, line, dialect)
  const isSafe = wired?.safe ?? false
  const stands = standOf(wired)
  const unfit = unfitWords(bench, receiver.id, dialect)
  const places = portsOf(draft)
  const holds = (...ids: string[]) =>
    check?.preconditions.filter(p => ids.includes(p.id)).every(p => p.holds === 'yes') ?? false
  const mayHold = (...ids: string[]) => check === undefined || holds(...ids)
  const progress: Progress = {
    port:
      places.length > 0 &&
      places.every(place => ports.ports?.some(p => p.place === place && isUsable(p))) &&
      // The check looks for itself. Where the two do not agree the port is not there for sure.
      mayHold('port'),
    wiring: stands.wrongWay !== undefined ? stands.isElseSafe : isSafe && mayHold('wiring', 'supply'),
    what:
      plan.image !== undefined &&
      listed !== undefined &&
      stands.wrongWay === undefined &&
      unfit === undefined &&
      mayHold('image', 'dialect'),
    rehearse: holds('port', 'wiring', 'supply', 'image', 'dialect', 'rehearsed'),
  }
  return {
    ...{ written, check, problems, progress, answers, line, isSafe, stands, unfit, chosen: listed },
    onRehearsed: () => setRehearsals(n => n + 1),
  }
}
const NONE = {}

function Way(props: WayStepsProps) {
  const { bench, receiver, plan, ports, dialects, draft, onChange, client, desk } = props
  const library = useLibraryImages(client)
  const writes = useWrites(desk)
  const snapshotLive = useMemo(() => livePorts(writes.lanes), [writes.lanes])
  const isBusyHere = portsOf(draft).some(place => snapshotLive.includes(place))
  const { written, check, problems, progress, answers, line, isSafe, stands, unfit, chosen, onRehearsed } =
    useStanding(props)
  const open = draft.open ?? nextStep(progress)
  const go = (step: StepId) => onChange({ open: step })
  // Whoever chooses something stays where they are until they say that they go on.
  const set = (part: Partial<Draft>) => onChange({ open, ...part })
  const shared = (step: StepId) => ({
    step,
    number: STEPS.indexOf(step) + 1,
    state: stepState(progress, step),
    says: step === 'port' ? portSays(draft, ports.ports, snapshotLive) : undefined,
    isOpen: open === step,
    onToggle: () => onChange({ open: open === step ? 'none' : step }),
    onNext: step !== 'look' && progress[step] ? () => go(stepAfter(progress, step)) : undefined,
  })
  const usual = usualBaud(bench, receiver.id, chosen?.baud ?? [])
  return (
    <section className="pg-way" aria-labelledby="pg-way">
      <h2 id="pg-way">The way to a write</h2>
      <ol className="pg-steps">
        <Step {...shared('port')} summary={portSummary(ports, draft)}>
          <PortStep desk={ports} draft={draft} live={snapshotLive} onChange={set} />
        </Step>
        <Step {...shared('wiring')} summary={wiringSummary(bench, draft)} isTall>
          <WiringPanel
            bench={bench}
            receiverId={receiver.id}
            choices={draft.wiring}
            line={line}
            dialect={draft.dialect}
            onChoose={wiring => set({ wiring })}
            onChangeBench={(label, next) => {
              set({})
              props.onChangeBench(label, next)
            }}
          />
          {check !== undefined && isSafe && (
            <Preconditions
              list={check.preconditions.filter(
                p => (p.id === 'wiring' || p.id === 'supply') && p.holds !== 'yes',
              )}
              here="wiring"
              onGo={go}
            />
          )}
        </Step>
        <Step {...shared('what')} summary={whatSummary(bench, library ?? [], plan.image, chosen?.title)}>
          <PlanBar bench={bench} receiverId={receiver.id} library={library ?? []} plan={plan} noRoute />
          <What
            desk={dialects}
            said={spokenWords(bench, receiver.id)}
            dialect={draft.dialect}
            baud={draft.baud}
            usual={usual}
            onDialect={dialect => set({ dialect, baud: undefined })}
            onBaud={baud => set({ baud })}
            onEdit={props.onEdit}
          />
          {stands.wrongWay !== undefined && <Notice kind="danger">{stands.wrongWay}</Notice>}
          {/* Once there is a check, it says so itself. */}
          {unfit !== undefined && check === undefined && <Notice kind="danger">{unfit}</Notice>}
          {check !== undefined && (
            <Preconditions
              list={check.preconditions.filter(
                p => (p.id === 'image' || p.id === 'dialect') && p.holds !== 'yes',
              )}
              here="what"
              onGo={go}
            />
          )}
        </Step>
        <Step {...shared('rehearse')} summary={check?.rehearsed?.sentence ?? ''}>
          <RehearseStep
            {...{ client, plan: written, check, problems, onRehearsed, onGo: go }}
            isDone={progress.rehearse}
          />
        </Step>
        <Step {...shared('look')} summary={lastWords(writes.lanes, receiver.id)}>
          <WriteStep
            {...{ desk, draft, plan: written, check, bench, receiver, ports, answers, isBusyHere, onGo: go }}
            lookOut={stands.lookOut}
            onAnswer={given => check && set({ cautions: { key: check.key, answers: given } })}
          />
        </Step>
      </ol>
    </section>
  )
}

/** Why the chosen dialect does not do for the type of the receiver, and what to do about it. */
function unfitWords(bench: Bench, receiverId: string, dialect: string | undefined): string | undefined {
  const type = typeOfReceiver(bench, receiverId)
  const wrong = type && dialect !== undefined ? notSpoken(type, dialect) : undefined
  return wrong && `${wrong.why} ${wrong.cure}`
}

function spokenWords(bench: Bench, receiverId: string): string | undefined {
  const type = typeOfReceiver(bench, receiverId)
  return type && saySpoken(type)
}

function portSummary({ ports }: PortsDesk, draft: Draft): string {
  const names = portsOf(draft).map(place => {
    const port = ports?.find(one => one.place === place)
    return port === undefined ? place : portName(port)
  })
  return names.join(', ')
}

function wiringSummary(bench: Bench, { wiring }: Draft): string {
  const adapter = bench.adapters.find(one => one.id === wiring.adapterId)
  const cable = bench.cables.find(one => one.id === wiring.cableId)
  return [adapter, cable].flatMap(one => (one === undefined ? [] : [one.nickname])).join(', ')
}

function whatSummary(
  bench: Bench,
  library: readonly LibraryEntry[],
  image: WayProps['plan']['image'],
  dialect: string | undefined,
): string {
  const name =
    image === undefined
      ? undefined
      : image.kind === 'bench'
        ? bench.images.find(one => one.id === image.imageId)?.name
        : image.kind === 'library'
          ? library.find(one => one.id === image.id)?.fileName
          : image.fileName
  return [name, dialect].filter(part => part !== undefined).join(', ')
}
