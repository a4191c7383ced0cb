import type { Dialect } from './schema.ts'
import type { ExpectStep, SendStep, Step, WhenStep } from './schema-steps.ts'

/**
 * A dialect from the side of the receiver: what the workbench sends it hears, what the workbench expects it says.
 * Each section becomes units, one for each request; each unit has a way for each outcome of its `when` steps.
 */
export type SectionId =
  | 'enter'
  | 'identify'
  | 'erase'
  | 'before'
  | 'block'
  | 'after'
  | 'read'
  | 'digest'
  | 'start'
  | 'leave'

export type Item = { readonly hear: SendStep } | { readonly say: ExpectStep }
export interface Guard {
  readonly when: WhenStep
  readonly holds: boolean
}
export interface Way {
  readonly items: readonly Item[]
  readonly guards: readonly Guard[]
  /** Index of the last item that is heard: then the receiver knows all that it needs. */
  readonly lastHeard: number
}
export type Unit = readonly Way[]
export type Program = ReadonlyMap<SectionId, readonly Unit[]>

/** One way through a list of steps: its parts, each belonging to one request or to none, and what has to hold. */
interface Branch {
  readonly guards: readonly Guard[]
  readonly groups: readonly (readonly Item[])[]
}
/** A hostile file could ask for two to the power of its `when` steps. */
const MOST_BRANCHES = 64

export function programOf(dialect: Dialect): Program {
  const { enter, identify, erase, write, read, digest, start, leave } = dialect
  const lists: [SectionId, readonly Step[]][] = [
    ['enter', enter],
    ['identify', identify?.steps ?? []],
    ['erase', erase?.steps ?? []],
    ['before', write.before],
    ['block', write.block],
    ['after', write.after],
    ['read', read?.steps ?? []],
    ['digest', digest?.steps ?? []],
    ['start', start ?? []],
    ['leave', leave],
  ]
  return new Map(lists.map(([id, steps]) => [id, unitsOf(steps)]))
}

function unitsOf(steps: readonly Step[]): Unit[] {
  const branches = through(steps, true)
  const most = Math.max(0, ...branches.map(({ groups }) => groups.length))
  return Array.from({ length: most }, (_, i) =>
    branches.flatMap(({ groups, guards }) => {
      const items = groups[i] ?? []
      return items.length > 0
        ? [{ items, guards, lastHeard: items.findLastIndex(item => 'hear' in item) }]
        : []
    }),
  ).filter(unit => unit.length > 0)
}

/** @param apart requests get groups of their own */
function through(steps: readonly Step[], apart: boolean): Branch[] {
  let branches: Branch[] = [{ guards: [], groups: [[]] }]
  for (const step of steps) {
    const next = alternatives(step, apart)
    branches = branches.flatMap(before => next.map(after => joined(before, after, apart && isApart(step))))
    branches.length = Math.min(branches.length, MOST_BRANCHES)
  }
  return branches.map(({ guards, groups }) => ({ guards, groups: groups.filter(group => group.length > 0) }))
}

const isApart = (step: Step): boolean => step.do === 'request' || step.do === 'repeat' || step.do === 'when'

function alternatives(step: Step, apart: boolean): Branch[] {
  switch (step.do) {
    case 'send':
      return [{ guards: [], groups: [[{ hear: step }]] }]
    case 'expect':
      return [{ guards: [], groups: [[{ say: step }]] }]
    case 'request':
    case 'repeat':
      return through(step.steps, false)
    case 'when':
      return ([true, false] as const).flatMap(holds =>
        through(holds ? step.steps : step.otherwise, apart).map(({ guards, groups }) => ({
          guards: [{ when: step, holds }, ...guards],
          groups,
        })),
      )
    default:
      return [{ guards: [], groups: [] }]
  }
}

function joined(before: Branch, after: Branch, apart: boolean): Branch {
  const guards = [...before.guards, ...after.guards]
  if (apart) return { guards, groups: [...before.groups, ...after.groups, []] }
  const last = before.groups.at(-1) ?? []
  return { guards, groups: [...before.groups.slice(0, -1), [...last, ...after.groups.flat()]] }
}
