import { useEffect, useRef, useState } from 'react'
import type { RehearsalMoment } from '../../../shared/api/rehearse.ts'
import type { RehearseClient } from '../client.ts'
import { sayDuration } from '../outcome/words.ts'
import { leftMs, type Stretch, stretchOf } from './left.ts'
import { percentOf, sayLeft, sayWorking } from './words.ts'
import './working.css'

/** What is over sooner needs no words. */
const MOMENT_MS = 300

interface WorkingProps {
  readonly client: RehearseClient
  readonly runId: string
  readonly isCancelling: boolean
  readonly onCancel: () => void
}

/** A rehearsal that takes longer than a moment: what is being done, how far it is, and how to cancel it. */
export function Working({ client, runId, isCancelling, onCancel }: WorkingProps) {
  const [isLate, setIsLate] = useState(false)
  const progress = useProgress(client, runId)
  useEffect(() => {
    const timer = setTimeout(() => setIsLate(true), MOMENT_MS)
    return () => clearTimeout(timer)
  }, [])
  useEscape(isLate && !isCancelling, onCancel)
  const cancel = useRef<HTMLButtonElement>(null)
  useEffect(() => {
    const at = document.activeElement
    // From the button that was pressed, which cannot be pressed again meanwhile.
    if (isLate && (at === document.body || at?.classList.contains('rh-primary'))) cancel.current?.focus()
  }, [isLate])
  const title = isCancelling ? 'Cancelling…' : 'Rehearsing…'
  return (
    <>
      <p className="rh-hidden" role="status">
        {isLate ? (isCancelling ? title : `${title} Escape cancels it.`) : ''}
      </p>
      {isLate ? (
        <section className="rh-working" aria-labelledby="rh-working">
          <h2 id="rh-working">{title}</h2>
          <p>{sayWorking(progress?.moment)}</p>
          {progress === undefined ? null : <HowFar {...progress} />}
          <button
            ref={cancel}
            type="button"
            className="rh-button"
            // Kept in place, so that the focus is not lost before it is over.
            aria-disabled={isCancelling}
            onClick={() => {
              if (!isCancelling) onCancel()
            }}
          >
            Cancel <kbd>Esc</kbd>
          </button>
        </section>
      ) : null}
    </>
  )
}

interface Progress {
  readonly moment: RehearsalMoment
  readonly leftMs: number | undefined
}

function useProgress(client: RehearseClient, runId: string): Progress | undefined {
  const [progress, setProgress] = useState<Progress>()
  useEffect(() => {
    let stretch: Stretch | undefined
    return client.on('rehearse.progress', told => {
      if (told.runId !== runId) return
      const { moment } = told
      const nowMs = performance.now()
      stretch = stretchOf(stretch, moment, nowMs)
      setProgress({ moment, leftMs: leftMs(stretch, moment, nowMs) })
    })
  }, [client, runId])
  return progress
}

function HowFar({ moment, leftMs: left }: Progress) {
  const percent = percentOf(moment)
  return (
    <>
      {percent === undefined ? null : (
        <progress className="rh-progress" aria-label="This step" value={percent} max={100} />
      )}
      <dl className="rh-facts">
        <dt>This step</dt>
        <dd className="rh-figures">
          {percent === undefined ? 'under way' : `${percent} % done`}
          {left === undefined ? '' : `, ${sayLeft(left)} left`}
        </dd>
        <dt>Simulated so far</dt>
        <dd className="rh-figures">{sayDuration(moment.simulatedMs)}</dd>
      </dl>
    </>
  )
}

function useEscape(isWanted: boolean, act: () => void): void {
  const latest = useRef(act)
  useEffect(() => {
    latest.current = act
  })
  useEffect(() => {
    if (!isWanted) return
    const listen = (event: KeyboardEvent) => {
      if (event.key !== 'Escape' || event.defaultPrevented) return
      if (event.target instanceof Element && event.target.closest('dialog, [role=dialog]') !== null) return
      event.preventDefault()
      latest.current()
    }
    document.addEventListener('keydown', listen)
    return () => document.removeEventListener('keydown', listen)
  }, [isWanted])
}
