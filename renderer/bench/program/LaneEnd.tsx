import { useId, useState } from 'react'
import { effortWords } from '../../../shared/bench-run/effort.ts'
import type { LaneReport, WriteEnding } from '../../../shared/bench-run/lane.ts'
import { withUnit } from '../../../shared/fit/rule.ts'
import type { Bench } from '../../../shared/model/bench.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import { Button } from '../../ui/Button.tsx'
import { Notice, ProblemList, problemsOf } from '../../ui/Notice.tsx'
import { StatusMark } from '../../ui/StatusMark.tsx'
import type { Advice } from '../guide/run-desk.ts'
import { repairLabel } from '../guide/words.ts'
import type { WriteDesk } from './desk.ts'
import { printWrite } from './print.ts'
import { ticksKey } from './ticks.ts'
import { useWrites } from './use-desk.ts'
import { saySeconds, verifiedWords } from './words.ts'

/** What the end of a write asks of the rest of the window. */
export interface AfterHelp {
  readonly bench: Bench | undefined
  readonly onChangeBench: (label: string, next: Bench) => void
  /** To the Diagnose view, with what is known. */
  readonly onDiagnose: (
    receiverId: string,
    diagnosis: NonNullable<WriteEnding['diagnosis']>,
    image: LaneReport['image'],
    sessionId: string | null,
  ) => void
  /** What Diagnose had advised before this write of the receiver, where one before had failed. */
  readonly adviceBefore: (lane: LaneReport) => Advice | undefined
  /** Whether it was that. @returns what it means, in words, once it is in the logbook */
  readonly onSettled: (isThat: boolean) => Promise<string>
  /** Another receiver of the same type, if there is one. */
  readonly onNextReceiver: (id: string) => void
}

interface LaneEndProps extends AfterHelp {
  /** One of many: what is not needed at a glance is folded away. */
  readonly isNarrow?: boolean
  readonly lane: LaneReport
  readonly desk: WriteDesk
}

/** What came of it: the state of the receiver first, then what is to be done. */
export function LaneEnd(props: LaneEndProps) {
  const { lane } = props
  const { end } = lane
  if (end === null) return null
  const isWritten = end.outcome === 'updated' || end.outcome === 'unproven'
  return (
    <div className="pg-end" role="status">
      <p className="pg-end-state">{end.stateWords}</p>
      {end.text !== '' && <p>{end.text}</p>}
      <p>
        <strong>Next:</strong> {end.nextWords}
      </p>
      {isWritten && <Proven end={end} />}
      {isWritten && <WasItThat {...props} />}
      {props.isNarrow ? (
        <details className="pg-trace">
          <summary>What it said, and how long it took</summary>
          <Facts end={end} />
        </details>
      ) : (
        <Facts end={end} />
      )}
      {isWritten ? <Written {...props} end={end} /> : <NotWritten {...props} end={end} />}
    </div>
  )
}

/** It went through after something was put right: nothing is counted before the person says that it was that. */
function WasItThat({ lane, adviceBefore, onSettled }: LaneEndProps) {
  const [said, setSaid] = useState<string>()
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const advice = adviceBefore(lane)
  if (said !== undefined) return said === '' ? null : <p className="pg-soft">{said}</p>
  if (advice === undefined) return null
  const settle = (isThat: boolean) => onSettled(isThat).then(setSaid, error => setProblems(problemsOf(error)))
  return (
    <section aria-label="Was it that?">
      <p>
        Diagnose had advised: <strong>{repairLabel(advice.causes)}</strong> Was it that?
      </p>
      {problems.length > 0 && <ProblemList problems={problems} />}
      <div className="app-buttons">
        <Button onClick={() => void settle(true)}>Yes, that helped</Button>
        <Button kind="quiet" onClick={() => void settle(false)}>
          No, something else
        </Button>
      </div>
    </section>
  )
}

/** What was shown, and what was not. */
function Proven({ end: { proof } }: { readonly end: WriteEnding }) {
  const lines = [
    [proof.verified !== 'none', verifiedWords[proof.verified]],
    [
      proof.started,
      proof.started ? 'It was told to start, and did not object.' : 'It was not told to start.',
    ],
    [
      proof.identified,
      proof.identified
        ? 'It was asked again after the start, and named the new version.'
        : 'It did not show after the start that it runs the new version.',
    ],
  ] as const
  return (
    <ul className="pg-proof" aria-label="What was proven">
      {lines.map(([holds, text]) => (
        <li key={text}>
          <StatusMark status={holds ? 'good' : 'unknown'}>{holds ? 'Proven' : 'Not proven'}</StatusMark>
          <span>{text}</span>
        </li>
      ))}
    </ul>
  )
}

function Facts({ end }: { readonly end: WriteEnding }) {
  const { seconds, identity, backupFile } = end
  return (
    <dl className="pg-facts">
      <dt>It took</dt>
      <dd>
        {effortWords(end)}, {saySeconds(seconds * 1000)}
      </dd>
      {identity.map(({ label, value }) => (
        <div key={label} className="pg-fact">
          <dt>{label}</dt>
          <dd>{value}</dd>
        </div>
      ))}
      {backupFile !== null && (
        <div className="pg-fact">
          <dt>What was there before</dt>
          <dd className="mono">{backupFile}</dd>
        </div>
      )}
    </dl>
  )
}

/** All of it as one file, for the records or for somebody who is to look at it. */
function Export({ lane: { sessionId }, desk }: Pick<LaneEndProps, 'lane' | 'desk'>) {
  if (sessionId === null) return null
  return <Button onClick={() => desk.exportSession(sessionId)}>Export…</Button>
}

type WithEnd = LaneEndProps & { readonly end: WriteEnding }

function Written(props: WithEnd) {
  const { lane, end, desk, bench } = props
  const next = nextReceiver(bench, lane.receiver?.id, lane.image.version)
  return (
    <>
      {end.afterwards.length > 0 && <Afterwards lane={lane} items={end.afterwards} desk={desk} />}
      <OntoTheBench {...props} />
      <div className="app-buttons">
        {next !== undefined && (
          <Button
            kind="primary"
            onClick={() => {
              props.onNextReceiver(next.id)
              desk.dismiss(lane.lane)
            }}
          >
            Next receiver: {next.nickname}
          </Button>
        )}
        <Button onClick={() => printWrite(lane, desk.get().ticks.get(ticksKey(lane)))}>Print</Button>
        <Export lane={lane} desk={desk} />
        <Button kind="quiet" onClick={() => desk.dismiss(lane.lane)}>
          Close
        </Button>
      </div>
    </>
  )
}

/** The one after it on the bench that is of the same type and does not run this version yet, round to the first. */
export function nextReceiver(
  bench: Bench | undefined,
  receiverId: string | undefined,
  version: string | null = null,
) {
  const at = bench?.receivers.findIndex(r => r.id === receiverId) ?? -1
  if (bench === undefined || at < 0) return undefined
  const { typeId } = bench.receivers[at]
  const round = [...bench.receivers.slice(at + 1), ...bench.receivers.slice(0, at)]
  return round.find(r => r.typeId === typeId && (version === null || r.firmware !== version))
}

interface AfterwardsProps extends Pick<LaneEndProps, 'lane' | 'desk'> {
  readonly items: readonly string[]
}

function Afterwards({ lane, desk, items }: AfterwardsProps) {
  const id = useId()
  const done = useWrites(desk).ticks.get(ticksKey(lane)) ?? []
  return (
    <fieldset className="pg-after">
      <legend>To be done again before it flies</legend>
      {items.map((item, i) => (
        <label key={item} className="ui-check" htmlFor={`${id}-${i}`}>
          <input
            id={`${id}-${i}`}
            type="checkbox"
            checked={done.includes(i)}
            onChange={e => desk.tick(lane, i, e.target.checked)}
          />
          {item}
        </label>
      ))}
    </fieldset>
  )
}

/** The bench learns of it by the person's word, and undo takes it back. */
function OntoTheBench({ lane, bench, onChangeBench }: WithEnd) {
  const [isDone, setDone] = useState(false)
  const { version } = lane.image
  const unit = bench?.receivers.find(r => r.id === lane.receiver?.id)
  if (bench === undefined || unit === undefined || version === null) return null
  // Undo may have taken it back since.
  if (unit.firmware === version)
    return isDone ? <Notice kind="good">The bench says so now. Undo takes it back.</Notice> : null
  const write = () => {
    const change = { firmware: version, factoryFresh: false }
    onChangeBench(`update of ${unit.nickname}`, withUnit(bench, 'receivers', unit.id, change))
    setDone(true)
  }
  return (
    <p className="pg-onto">
      <span>
        The bench still says {unit.firmware === 'unknown' ? 'that its version is not known' : unit.firmware}.
      </span>
      <Button onClick={write}>Write {version} on the bench</Button>
    </p>
  )
}

function NotWritten({ lane, end, desk, bench, onDiagnose }: WithEnd) {
  const { sessionId, receiver } = lane
  const { diagnosis } = end
  const { recovery } = useWrites(desk)
  const isOnBench = bench?.receivers.some(r => r.id === receiver?.id) ?? false
  // While its way back stands above, that has the one thing to do next.
  const isShown = recovery?.sessionId === sessionId
  return (
    <div className="app-buttons">
      {sessionId !== null && !isShown && (
        <Button kind="primary" onClick={() => desk.recover(sessionId, end.stateWords)}>
          Put it right
        </Button>
      )}
      {diagnosis !== null && receiver !== null && isOnBench && (
        <Button onClick={() => onDiagnose(receiver.id, diagnosis, lane.image, lane.sessionId)}>
          Find out why
        </Button>
      )}
      <Button onClick={() => printWrite(lane, desk.get().ticks.get(ticksKey(lane)))}>Print</Button>
      <Export lane={lane} desk={desk} />
      <Button kind="quiet" onClick={() => desk.dismiss(lane.lane)}>
        Close
      </Button>
    </div>
  )
}
