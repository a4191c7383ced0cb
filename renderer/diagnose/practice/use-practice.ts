import { useCallback, useEffect, useRef, useState } from 'react'
import type { Exercise, PracticeSetup, PracticeStep } from '../../../shared/diagnose/exercise.ts'
import type { Problem } from '../../../shared/model/problem.ts'
import type { AppClient } from '../../api/client.ts'
import { problemsOf } from '../../ui/Notice.tsx'
import { type PracticeResult, resultOf } from './results.ts'

/** All of a practice. */
export interface Practice {
  readonly isOpen: boolean
  /** Set from the start of an exercise until somebody chooses another. */
  readonly setup: PracticeSetup | undefined
  readonly steps: readonly PracticeStep[]
  /** The exercise after these steps; others may be under way. */
  readonly shown: { readonly steps: readonly PracticeStep[]; readonly exercise: Exercise } | undefined
  /** What was finished since the window was opened, the latest first. */
  readonly results: readonly PracticeResult[]
}

/** Where a practice waits while another view is shown. */
export interface KeptPractice {
  current: Practice
}

export const noPractice: Practice = {
  isOpen: false,
  setup: undefined,
  steps: [],
  shown: undefined,
  results: [],
}

export interface PracticeDesk {
  readonly practice: Practice
  readonly problems: readonly Problem[]
  /** A step is under way; no other is taken until it is there. */
  readonly isBehind: boolean
  readonly begin: (setup: PracticeSetup) => void
  readonly step: (step: PracticeStep) => void
  /** Back to the choice of an exercise. */
  readonly choose: () => void
}

export const isBehind = ({ setup, steps, shown }: Practice): boolean =>
  setup !== undefined && shown?.steps !== steps

/** A step that was refused is taken back; an exercise that could not begin is given up. */
export const takenBack = (practice: Practice): Practice => ({
  ...practice,
  ...(practice.shown === undefined ? { setup: undefined, steps: [] } : { steps: practice.shown.steps }),
})

/** What came back for the steps as they are. */
export const arrived = (practice: Practice, exercise: Exercise): Practice => {
  const { setup, steps, results } = practice
  const isNew = setup !== undefined && exercise.end !== null
  return {
    ...practice,
    shown: { steps, exercise },
    results: isNew ? [resultOf(setup, exercise, results.length + 1), ...results] : results,
  }
}

/** Plays an exercise step by step; the steps are kept, so that leaving the view loses nothing. */
export function usePractice(client: Pick<AppClient, 'call'>, kept: KeptPractice): PracticeDesk {
  const [practice, setPractice] = useState(kept.current)
  const [problems, setProblems] = useState<readonly Problem[]>([])
  const latest = useRef(0)
  const change = useCallback(
    (to: (before: Practice) => Practice) => {
      kept.current = to(kept.current)
      setPractice(kept.current)
    },
    [kept],
  )
  const { setup, steps, shown } = practice
  useEffect(() => {
    if (setup === undefined || shown?.steps === steps) return
    const mine = ++latest.current
    client.call('practise.run', { ...setup, steps: [...steps] }).then(
      exercise => mine === latest.current && change(before => arrived(before, exercise)),
      error => {
        if (mine !== latest.current) return
        setProblems(problemsOf(error))
        change(takenBack)
      },
    )
  }, [client, setup, steps, shown, change])
  useEffect(
    () => () => {
      // Whoever comes back asks again.
      latest.current++
    },
    [],
  )
  const step = useCallback(
    (next: PracticeStep) => {
      if (isBehind(kept.current) || kept.current.shown?.exercise.end) return
      setProblems([])
      change(before => ({ ...before, steps: [...before.steps, next] }))
    },
    [change, kept],
  )
  const begin = (next: PracticeSetup) => {
    setProblems([])
    change(before => ({ ...before, setup: next, steps: [], shown: undefined }))
  }
  const choose = () => change(before => ({ ...before, setup: undefined, steps: [], shown: undefined }))
  return { practice, problems, isBehind: isBehind(practice), begin, step, choose }
}
