import type { Problem } from '../../shared/model/problem.ts'
import { ProblemList } from '../ui/Notice.tsx'

/** What went wrong, where something did. */
export function Problems({ problems }: { readonly problems: readonly Problem[] }) {
  return problems.length === 0 ? null : <ProblemList problems={problems} />
}
