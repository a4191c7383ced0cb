import { type Problem, sayProblem } from '../../../shared/model/problem.ts'
import { FAULT_NAMES } from '../../../shared/sim/faults.ts'
import type { SettingsProblem } from './settings.ts'

/** What is wrong, sorted to the fields that it belongs to. */
export interface SortedProblems {
  readonly receiver?: string
  readonly image?: string
  readonly version?: string
  readonly seed?: string
  readonly faults: ReadonlyMap<string, string>
  /** What belongs to no field of this view. */
  readonly other: readonly string[]
  /** The image has parts outside program flash that can be left out. */
  readonly reachesOutside: boolean
}

export const noProblems: SortedProblems = { faults: new Map(), other: [], reachesOutside: false }

export function sortOwnProblems(problems: readonly SettingsProblem[]): SortedProblems {
  const at = (field: SettingsProblem['field']) => problems.find(p => p.field === field)?.message
  return {
    ...noProblems,
    receiver: at('receiver'),
    image: at('image'),
    version: at('version'),
    seed: at('seed'),
  }
}

const OUTSIDE = new Set(['image.outside', 'image.far-apart'])
const isImage = (p: Problem): boolean =>
  /^(image|hex|srec|uf2|raw|format|card)\./.test(p.code) || p.field === 'image' || p.file !== undefined

/** Problems of the contract in plain words, at the field that they are about. */
export function sortProblems(problems: readonly Problem[]): SortedProblems {
  const faults = new Map<string, string>()
  const image: string[] = []
  const other: string[] = []
  let receiver: string | undefined
  for (const problem of problems) {
    const fault = FAULT_NAMES.find(name => problem.field === `fault ${name}`)
    // The field's own name says where; only the file and line are worth repeating.
    const said = sayProblem({ ...problem, field: undefined })
    if (fault !== undefined) faults.set(fault, said)
    else if (problem.field === 'receiver') receiver = said
    else if (isImage(problem)) image.push(said)
    else other.push(sayProblem(problem))
  }
  return {
    receiver,
    image: image.length === 0 ? undefined : image.join(' '),
    faults,
    other,
    reachesOutside: problems.some(p => OUTSIDE.has(p.code)),
  }
}

/** The problems that a rejected call carries. */
export function problemsOf(error: unknown): readonly Problem[] {
  const carried = error as { problems?: readonly Problem[]; problem?: Problem; message?: string }
  if (carried?.problems !== undefined && carried.problems.length > 0) return carried.problems
  if (carried?.problem !== undefined) return [carried.problem]
  return [
    {
      code: 'rehearse.broken',
      message: `The rehearsal broke off unexpectedly${carried?.message ? `: ${carried.message}` : ''}.`,
      remedy: 'Try again; if it happens again, save the bench and report it.',
    },
  ]
}
