import { useEffect, useRef } from 'react'
import type { PracticeSetup } from '../../../shared/diagnose/exercise.ts'
import type { AppClient } from '../../api/client.ts'
import { Button } from '../../ui/Button.tsx'
import { ProblemList } from '../../ui/Notice.tsx'
import { PracticeBench } from './PracticeBench.tsx'
import { PracticeEnded } from './PracticeEnded.tsx'
import { PracticeStart } from './PracticeStart.tsx'
import { drawnSeed } from './results.ts'
import { type KeptPractice, usePractice } from './use-practice.ts'
import './practice.css'

export interface PracticeModeProps {
  readonly client: Pick<AppClient, 'call'>
  readonly kept: KeptPractice
  readonly onLeave: () => void
}

const anySeed = (): number => drawnSeed(crypto.getRandomValues(new Uint32Array(1))[0])

/** Something is wrong on a simulated table, and somebody in training finds it. */
export function PracticeMode({ client, kept, onLeave }: PracticeModeProps) {
  const { practice, problems, isBehind, begin, step, choose } = usePractice(client, kept)
  const title = useRef<HTMLHeadingElement>(null)
  useEffect(() => title.current?.focus(), [])
  const { setup, shown, results } = practice
  const exercise = shown?.exercise
  const another = ({ faults, lies }: PracticeSetup) => begin({ seed: anySeed(), faults, lies })
  return (
    <div className="dg pr">
      <header className="pr-head">
        <h1 ref={title} tabIndex={-1}>
          Practice
        </h1>
        <p>
          Simulated: an invented receiver with hidden faults. Nothing here is about your own bench, and
          nothing goes into your logbook.
        </p>
        <Button onClick={onLeave}>Leave practice</Button>
      </header>
      {problems.length > 0 && <ProblemList problems={problems} />}
      {setup === undefined ? (
        <PracticeStart results={results} anySeed={anySeed} onBegin={begin} />
      ) : exercise === undefined ? (
        <p className="pr-wait" role="status">
          Hiding something…
        </p>
      ) : exercise.end === null ? (
        <PracticeBench setup={setup} exercise={exercise} isBehind={isBehind} onStep={step} onOther={choose} />
      ) : (
        <PracticeEnded
          setup={setup}
          exercise={exercise}
          end={exercise.end}
          onAnother={() => another(setup)}
          onAgain={() => begin({ ...setup })}
          onOther={choose}
        />
      )}
    </div>
  )
}
