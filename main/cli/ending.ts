import type { Problem } from '../../shared/model/problem.ts'

export const EXIT = { done: 0, negative: 1, badInput: 2 } as const
export type Ending = (typeof EXIT)[keyof typeof EXIT]

/** Input that a command cannot work with; ends the program with exit code 2. */
export class BadInput extends Error {
  readonly problems: readonly Problem[]
  constructor(problems: readonly Problem[]) {
    super(problems.map(p => p.message).join(' '))
    this.name = 'BadInput'
    this.problems = problems
  }
}
