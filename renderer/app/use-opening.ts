import { useCallback, useEffect, useRef } from 'react'
import { MAX_BENCH_FILE_BYTES } from '../../shared/model/bench.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import type { AppClient } from '../api/client.ts'
import { hasUnsaved } from '../state/bench-state.ts'
import type { BenchDesk } from '../state/use-bench.tsx'
import type { Asking } from './Questions.tsx'

export interface OpeningOptions {
  readonly client: AppClient
  readonly desk: BenchDesk
  readonly onOpened: () => void
  readonly onProblem: (error: unknown) => void
  readonly onAsk: (asking: Asking) => void
}

/** The ways a bench comes into the window, none of which loses unsaved changes without asking. */
export function useOpening({ client, desk, onOpened, onProblem, onAsk }: OpeningOptions) {
  const { open, draft } = desk
  /** Goes on at once, or after the person has agreed to lose what is not saved. */
  const guarded = (then: () => void) => {
    if (draft || (open && hasUnsaved(open))) onAsk({ what: 'discard', then })
    else then()
  }
  const openFile = (fileName: string) => guarded(() => void desk.openFile(fileName).then(onOpened, onProblem))
  const openDropped = async (file: File) => {
    try {
      if (file.size > MAX_BENCH_FILE_BYTES) throw new ProblemError(tooLarge(file))
      // Looked at before anybody is asked to give something up for it.
      const { bench } = await client.call('bench.check', { fileName: file.name, text: await file.text() })
      guarded(() => {
        desk.openNew(bench)
        onOpened()
      })
    } catch (error) {
      onProblem(error)
    }
  }
  useCommandLineFile(client, useLatest(openFile), onProblem)
  return { guarded, openFile, openDropped }
}

const tooLarge = (file: File): Problem => ({
  code: 'bench.too-large',
  file: file.name,
  message: `This file has ${file.size} octets.`,
  expected: `a bench file of at most ${MAX_BENCH_FILE_BYTES / 1024 / 1024} MiB`,
  remedy: 'Choose a bench file.',
})

function useLatest<A extends readonly unknown[]>(call: (...args: A) => void): (...args: A) => void {
  const latest = useRef(call)
  latest.current = call
  return useCallback((...args: A) => latest.current(...args), [])
}

/** A bench named on the command line is what the person wants to see first. */
function useCommandLineFile(
  client: AppClient,
  openFile: (fileName: string) => void,
  onProblem: (error: unknown) => void,
): void {
  const asked = useRef(false)
  useEffect(() => {
    if (asked.current) return
    asked.current = true
    client
      .call('bench.list', {})
      .then(({ commandLineFile }) => commandLineFile !== undefined && openFile(commandLineFile))
      .catch(onProblem)
  }, [client, openFile, onProblem])
}
