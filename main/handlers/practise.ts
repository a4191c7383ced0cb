import type { AppContract } from '../../shared/api/contract.ts'
import type { Handlers } from '../../shared/api/define.ts'
import type { practiseMethods } from '../../shared/api/practise.ts'
import { ProblemsError } from '../../shared/api/serve.ts'
import { demoBench } from '../../shared/demo/bench.ts'
import { practise } from '../../shared/diagnose/practise.ts'
import { consider, type Search } from '../../shared/diagnose/search.ts'
import { tableKeeper } from './diagnose.ts'

/** The same table for everybody, so that a number means the same exercise on every computer. */
const RECEIVER = 'wren-trainer'

const MOST_THOUGHTS = 200

/**
 * Thinks of each situation once, the last few hundred of them kept.
 * @param think thinks; given where somebody counts
 */
export function thoughtKeeper(think: typeof consider = consider): typeof consider {
  const kept = new Map<string, ReturnType<typeof consider>>()
  return (search: Search) => {
    const { model, known, tried } = search
    const key = JSON.stringify([model.route, model.symptom, known, tried])
    const thought = kept.get(key) ?? think(search)
    kept.delete(key)
    kept.set(key, thought)
    for (const oldest of kept.keys()) {
      if (kept.size <= MOST_THOUGHTS) break
      kept.delete(oldest)
    }
    return thought
  }
}

/** `practise.run`: an exercise as it stands. */
export function practiseHandlers(
  tableFor: ReturnType<typeof tableKeeper> = tableKeeper(),
): Pick<Handlers<AppContract>, keyof typeof practiseMethods> {
  const bench = demoBench()
  const think = thoughtKeeper()
  const modelOf = (route: 'cable' | 'wireless') =>
    // Every route has a symptom of its own; which one makes no difference to the table.
    tableFor({ bench, receiverId: RECEIVER, route, symptom: route === 'cable' ? 'no-answer' : 'not-found' })
  return {
    'practise.run': request => {
      const done = practise(request, { bench, receiverId: RECEIVER, modelOf, consider: think })
      if (!done.ok) throw new ProblemsError(done.problems)
      return done.value
    },
  }
}
