import { useEffect, useRef, useState } from 'react'
import type { ListedBench } from '../../shared/api/bench-files.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import type { Bench } from '../../shared/model/bench.ts'
import type { Problem } from '../../shared/model/problem.ts'
import type { AppClient } from '../api/client.ts'
import { LeftRun } from '../bench/guide/LeftRun.tsx'
import type { RunDesk } from '../bench/guide/run-desk.ts'
import { useRun } from '../bench/guide/use-run.ts'
import { isLive, type WriteDesk, type WriteSnapshot } from '../bench/program/desk.ts'
import { BrokenOff } from '../bench/program/Interrupted.tsx'
import { writingWords } from '../bench/program/live-words.ts'
import { useWrites } from '../bench/program/use-desk.ts'
import { Button } from '../ui/Button.tsx'
import { problemsOf } from '../ui/Notice.tsx'

export interface WelcomeProps {
  readonly client: AppClient
  readonly guide: RunDesk
  readonly program: WriteDesk
  /** To the Bench view: writes that run or have ended, and the way back from one that broke off. */
  readonly onBench: () => void
  /** To the run that was left open, which is gone on with or stopped. */
  readonly onRun: (how: 'go-on' | 'stop') => void
  readonly draft: Bench | undefined
  readonly onDemo: () => void
  readonly onNew: () => void
  /** Where the questions of a new bench have been left half answered. */
  readonly onGoOnWithNew: (() => void) | undefined
  readonly onOpenFile: (fileName: string) => void
  readonly onOpenText: (file: File) => void
  readonly onCarryOn: () => void
  readonly onProblems: (problems: readonly Problem[]) => void
}

const demo = demoBench()

type Writes = Pick<WriteSnapshot, 'lanes' | 'batch'> & { readonly onGo: () => void }

/** A window that was loaded anew has no bench open, but a write goes on whatever is shown. */
function WritesHere({ lanes, batch, onGo }: Writes) {
  const live = writingWords({ lanes })
  if (lanes.length === 0 && batch?.running !== true) return null
  const ended = lanes.filter(lane => !isLive(lane)).length
  return (
    <section className="gd-left" aria-label="Writes">
      <div>
        <h2>
          {live !== undefined
            ? 'Writing now'
            : batch?.running === true
              ? 'A batch waits'
              : 'A write has ended'}
        </h2>
        <p>
          {live === undefined ? '' : `${live.charAt(0).toUpperCase()}${live.slice(1)}. `}
          {batch?.running === true ? 'A batch is running. ' : ''}
          {ended > 0 && `What came of ${ended === 1 ? 'one write' : `${ended} writes`} was not closed yet.`}
        </p>
      </div>
      <div className="app-buttons">
        <Button kind="primary" onClick={onGo}>
          {live === undefined ? 'See what came of it' : 'See how it goes, or cancel it'}
        </Button>
      </div>
    </section>
  )
}

/** The first screen: the ways in, each with what it is for. */
export function Welcome(props: WelcomeProps) {
  const { client, draft, onProblems } = props
  const [files, setFiles] = useState<readonly ListedBench[]>([])
  const picker = useRef<HTMLInputElement>(null)
  const { left } = useRun(props.guide)
  const writes = useWrites(props.program)
  useEffect(() => {
    client.call('bench.list', {}).then(
      listed => setFiles(listed.files),
      error => onProblems(problemsOf(error)),
    )
  }, [client, onProblems])
  return (
    <div className="welcome">
      <WritesHere {...writes} onGo={props.onBench} />
      <BrokenOff
        sessions={writes.interrupted}
        onPutRight={one => {
          props.program.recover(one.sessionId, one.stateWords)
          props.onBench()
        }}
        onSettle={id => props.program.settle(id)}
      />
      {left && <LeftRun run={left} onGoOn={() => props.onRun('go-on')} onStop={() => props.onRun('stop')} />}
      <div>
        <h1>Rehearse a receiver update before you touch the receiver</h1>
        <p className="welcome-lead">
          Preflash keeps track of radios, modules, receivers and their firmware, says whether an image fits
          and why, and plays the whole update through on simulated devices, with everything that can go wrong
          on the way.
        </p>
      </div>
      <ul className="welcome-ways">
        {draft && (
          <li className="welcome-carry">
            <h2>Carry on</h2>
            <p>There are unsaved changes of “{draft.name}” from last time.</p>
            <Button kind="primary" onClick={props.onCarryOn}>
              Carry on with them
            </Button>
          </li>
        )}
        <li>
          <h2>Your own gear</h2>
          <p>
            A few plain questions about one radio, one module, one receiver and an image file. “I don’t know”
            is an answer.
          </p>
          {props.onGoOnWithNew && (
            <Button kind="primary" onClick={props.onGoOnWithNew}>
              Go on with the questions
            </Button>
          )}
          <Button
            kind={
              left || writes.interrupted.length > 0 || writes.lanes.length > 0 || draft || props.onGoOnWithNew
                ? 'plain'
                : 'primary'
            }
            onClick={props.onNew}
          >
            New bench
          </Button>
        </li>
        <li>
          <h2>Look around first</h2>
          <p>
            The {demo.name}: an invented fleet of {demo.radios.length} radios, {demo.receivers.length}{' '}
            receivers and {demo.models.length} models to try everything on.
          </p>
          <Button onClick={props.onDemo}>Open the demo bench</Button>
        </li>
        <li>
          <h2>A bench file</h2>
          <p>
            One that somebody gave you, or an exported copy. You can also drop it anywhere on this window.
          </p>
          <Button onClick={() => picker.current?.click()}>Open a file…</Button>
          <input
            ref={picker}
            className="visually-hidden"
            type="file"
            accept=".json,application/json"
            aria-label="Bench file"
            tabIndex={-1}
            onChange={e => {
              const file = e.target.files?.[0]
              e.target.value = ''
              if (file) props.onOpenText(file)
            }}
          />
        </li>
      </ul>
      {files.length > 0 && (
        <section aria-labelledby="saved-benches">
          <h2 id="saved-benches">Saved benches</h2>
          <ul className="welcome-files">
            {files.map(f => (
              <li key={f.fileName}>
                <Button onClick={() => props.onOpenFile(f.fileName)}>
                  {f.name}
                  <span>
                    {f.fromCommandLine && 'named at the start, '}
                    {new Date(f.modified).toLocaleString()}
                  </span>
                </Button>
              </li>
            ))}
          </ul>
        </section>
      )}
    </div>
  )
}
