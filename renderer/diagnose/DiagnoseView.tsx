import { useCallback, useEffect, useMemo, useRef, useState } from 'react'
import { answered, overruled } from '../../shared/diagnose/answers.ts'
import { routeOf } from '../../shared/diagnose/diagnose.ts'
import { type PlayOn, playOf, repairOf } from '../../shared/diagnose/play.ts'
import type { Answer, CauseSetReport, Diagnosis, SymptomId } from '../../shared/diagnose/report.ts'
import { type Bench, findType } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { isKnown } from '../../shared/model/units.ts'
import type { AppClient } from '../api/client.ts'
import type { Trial } from '../rehearse/setup/settings.ts'
import { Button } from '../ui/Button.tsx'
import { EmptyState } from '../ui/EmptyState.tsx'
import { ProblemList } from '../ui/Notice.tsx'
import { Causes, type CausesProps } from './Causes.tsx'
import { Ended } from './Ended.tsx'
import { Facts } from './Facts.tsx'
import { Head, PRACTISE_ID } from './Head.tsx'
import { Lines, linksOf, litBy, type Pointed } from './Lines.tsx'
import { type Looked, looked } from './looks.ts'
import { NextCard } from './NextCard.tsx'
import { PracticeMode } from './practice/PracticeMode.tsx'
import type { KeptPractice } from './practice/use-practice.ts'
import { putOffNow, stillTheSame } from './repairs.ts'
import { SymptomBar } from './SymptomBar.tsx'
import { SymptomChoice } from './SymptomChoice.tsx'
import { summaryOf } from './summary.ts'
import { TriedList } from './TriedList.tsx'
import { freshAsked, type KeptDiagnosis, type Tried, useDiagnosis } from './use-diagnosis.ts'
import { findOf } from './use-find.ts'
import { causeName, list } from './words.ts'
import './diagnose.css'

export interface DiagnoseViewProps {
  readonly bench: Bench
  readonly receiverId: string | undefined
  readonly onChooseReceiver: (id: string) => void
  /** To the questions about a receiver whose type is not known. */
  readonly onFindOut: () => void
  readonly client: Pick<AppClient, 'call'>
  /** Where the diagnosis waits while another view is shown. */
  readonly kept: KeptDiagnosis
  /** Where the practice waits likewise. */
  readonly practice: KeptPractice
  /** To the rehearsal, with a copy of the bench. */
  readonly onTry: (trial: Trial) => void
}

/** Why is the update not offered? Why does it not answer? */
export function DiagnoseView(props: DiagnoseViewProps) {
  const { client, practice } = props
  const [isPractising, setPractising] = useState(practice.current.isOpen)
  const hasLeft = useRef(false)
  useEffect(() => {
    if (!isPractising && hasLeft.current) document.getElementById(PRACTISE_ID)?.focus()
    hasLeft.current = isPractising
  }, [isPractising])
  const practise = (isOpen: boolean) => {
    practice.current = { ...practice.current, isOpen }
    setPractising(isOpen)
  }
  return isPractising ? (
    <PracticeMode client={client} kept={practice} onLeave={() => practise(false)} />
  ) : (
    <ForBench {...props} onPractise={() => practise(true)} />
  )
}

type ForBenchProps = DiagnoseViewProps & { readonly onPractise: () => void }

function ForBench(props: ForBenchProps) {
  const { bench, receiverId, onChooseReceiver } = props
  const receiver = bench.receivers.find(r => r.id === receiverId)
  const type = receiver && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  if (receiver !== undefined && type !== undefined)
    return <ForReceiver key={receiver.id} {...props} receiver={receiver} />
  return (
    <div className="dg">
      <Head
        bench={bench}
        receiverId={receiver?.id}
        onChooseReceiver={onChooseReceiver}
        onPractise={props.onPractise}
      />
      {receiver !== undefined && !isKnown(receiver.typeId) ? (
        <EmptyState title="The type of this receiver is not known yet">
          <p>What can be wrong depends on what it is. A few questions about it are in the Firmware view.</p>
          <Button kind="primary" onClick={props.onFindOut}>
            Find out what it is
          </Button>
        </EmptyState>
      ) : (
        <EmptyState title="No receiver is chosen">
          <p>
            {bench.receivers.length > 0
              ? 'Choose the receiver that makes trouble, above.'
              : 'Add the receiver that makes trouble in the Fleet view, with its type.'}
          </p>
        </EmptyState>
      )}
    </div>
  )
}

function ForReceiver(props: ForBenchProps & { readonly receiver: ReceiverUnit }) {
  const { bench, receiver, client, kept } = props
  const { asked, diagnosis, problems, isBehind, say } = useDiagnosis(client, bench, receiver.id, kept)
  /** The fact that was just answered in two ways. */
  const [differing, setDiffering] = useState<string>()
  const startAnew = () => say(freshAsked(receiver.id))
  const hasBegun =
    asked.symptom !== undefined ||
    Object.keys(asked.answers).length > 0 ||
    asked.tried.length + asked.putOff.length > 0
  const answer = (fact: string, given: Answer | undefined) => {
    say(looked(asked, overruled(asked, fact, given), fact, Date.now()))
  }
  const answerNext = (fact: string, given: Answer) => {
    const isSecond = diagnosis?.next.do === 'look' && diagnosis.next.again
    const before = diagnosis?.facts.find(f => f.id === fact)?.answer
    setDiffering(isSecond && given !== before && given !== 'cannot-check' ? fact : undefined)
    const told = isSecond ? answered(asked, fact, given, before) : overruled(asked, fact, given)
    say(looked(asked, told, fact, Date.now()))
  }
  const choose = (symptom: SymptomId) =>
    say({ symptom, route: undefined, tried: [], putOff: [], helped: undefined })
  const named = (ids: readonly string[]): Tried => ({ ids, label: diagnosis ? labelsOf(diagnosis, ids) : '' })
  const setAside = (ids: readonly string[]) => say(stillTheSame(asked, named(ids)))
  const putOff = (ids: readonly string[]) => say(putOffNow(asked, named(ids)))
  const hasHelped = (ids: readonly string[]) => {
    if (diagnosis === undefined) return
    const tried = asked.tried.map(t => t.label)
    const summary = summaryOf(diagnosis, ids, tried, asked)
    say({ helped: { ids, find: findOf(bench, diagnosis, ids, asked), summary } })
  }
  const { helped, symptom } = asked
  return (
    <div className="dg">
      <Head
        bench={bench}
        receiverId={receiver.id}
        onChooseReceiver={props.onChooseReceiver}
        onStartAnew={hasBegun ? startAnew : undefined}
        onPractise={props.onPractise}
      />
      {problems.length > 0 && <ProblemList problems={problems} />}
      {symptom === undefined ? (
        <SymptomChoice onChoose={choose} />
      ) : helped !== undefined ? (
        <Ended
          summary={helped.summary}
          find={helped.find}
          client={client}
          onAnother={startAnew}
          onCameBack={() => {
            setAside(helped.ids)
            // What was never written cannot be taken back, and need not be.
            client.call('diagnose.cameBack', { id: helped.find.finding.id }).catch(() => {})
          }}
        />
      ) : (
        <>
          <SymptomBar
            bench={bench}
            asked={asked}
            route={routeOf({ symptom, route: asked.route })}
            onSay={say}
          />
          <NextCard
            diagnosis={diagnosis}
            isBehind={isBehind}
            differing={differing}
            onAnswer={answerNext}
            onHelped={hasHelped}
            onStillTheSame={setAside}
            onPutOff={putOff}
            hasPutOff={asked.putOff.length > 0}
            onStartAnew={startAnew}
          />
          <TriedList
            title="Put right, and still the same"
            tried={asked.tried}
            onTakeBack={one => say({ tried: asked.tried.filter(t => t !== one) })}
          />
          <TriedList
            title="Cannot be done now"
            tried={asked.putOff}
            onTakeBack={one => say({ putOff: asked.putOff.filter(t => t !== one) })}
          />
          {diagnosis && (
            <Board
              diagnosis={diagnosis}
              looked={asked}
              on={{ bench, receiverId: receiver.id, route: diagnosis.route, imageId: asked.imageId }}
              putOff={asked.putOff.flatMap(t => t.ids)}
              onAnswer={answer}
              onTry={props.onTry}
              onHelped={ids => !isBehind && hasHelped(ids)}
              onStillTheSame={ids => !isBehind && setAside(ids)}
              onPutOff={ids => !isBehind && putOff(ids)}
            />
          )}
        </>
      )}
    </div>
  )
}

const labelsOf = ({ causes }: Diagnosis, ids: readonly string[]): string =>
  list(
    ids.flatMap(id => {
      const member = causes.flatMap(c => c.members).find(m => m.id === id)
      return member === undefined ? [] : [member.label]
    }),
  )

interface BoardProps extends Pick<CausesProps, 'onHelped' | 'onStillTheSame' | 'onPutOff' | 'putOff'> {
  readonly diagnosis: Diagnosis
  readonly looked: Looked
  readonly on: PlayOn
  readonly onAnswer: (fact: string, answer: Answer | undefined) => void
  readonly onTry: (trial: Trial) => void
}

/** Facts on the left, causes on the right, lines where the one explains the other. */
function Board({ diagnosis, looked, on, onAnswer, onTry, ...repairs }: BoardProps) {
  const [pointed, setPointed] = useState<Pointed>()
  const board = useRef<HTMLDivElement>(null)
  const links = useMemo(() => linksOf(diagnosis), [diagnosis])
  const lit = useMemo(() => litBy(links, pointed), [links, pointed])
  const point = useCallback((next: Pointed | undefined) => setPointed(next), [])
  const idsOf = (cause: CauseSetReport) => cause.members.map(m => m.id)
  const playable = useMemo(
    () =>
      new Set(
        diagnosis.causes.filter(
          c =>
            playOf(
              on,
              c.members.map(m => m.id),
            ) !== undefined,
        ),
      ),
    [diagnosis, on],
  )
  return (
    <div className="dg-board" ref={board}>
      <Lines board={board} links={links} pointed={pointed} />
      <Facts {...{ diagnosis, looked, lit, onAnswer }} onPoint={point} />
      <Causes
        {...repairs}
        diagnosis={diagnosis}
        lit={lit}
        canTry={cause => playable.has(cause)}
        onPoint={point}
        onTry={(cause, what) => {
          const play = what === 'cause' ? playOf(on, idsOf(cause)) : repairOf(on, idsOf(cause))
          if (play) onTry({ ...play, receiverId: on.receiverId, what, words: causeName(cause) })
        }}
      />
    </div>
  )
}
