import { BadInput } from '../../main/cli/ending.ts'
import { sayProblem } from '../../shared/model/problem.ts'

/** What the command line says of a refusal; anything else that was thrown is thrown on. */
export function badInputWords(error: unknown): string {
  if (!(error instanceof BadInput)) throw error
  return error.problems.map(sayProblem).join('\n')
}
