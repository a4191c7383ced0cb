import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { practiseMethods } from '../../shared/api/practise.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { practise } from '../../shared/diagnose/practise.ts'
import { tableKeeper } from './diagnose.ts'

/** The same table for everybody, so that a number means the same exercise on every computer. */
const RECEIVER = 'wren-trainer'

/** `practise.run`: an exercise as it stands. */
export function practiseHandlers(
  tableFor: ReturnType<typeof tableKeeper> = tableKeeper(),
): Pick<Handlers<AppContract>, keyof typeof practiseMethods> {
  const bench = demoBench()
  const modelOf = (route: 'cable' | 'wireless') =>
    // Every route has a symptom of its own; which one makes no difference to the table.
    tableFor({ bench, receiverId: RECEIVER, route, symptom: route === 'cable' ? 'no-answer' : 'not-found' })
  return {
    'practise.run': request => {
      const done = practise(request, { bench, receiverId: RECEIVER, modelOf })
      if (!done.ok) throw new ProblemsError(done.problems)
      return done.value
    },
  }
}
