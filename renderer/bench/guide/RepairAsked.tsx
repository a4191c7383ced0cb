import { writtenWords } from '../../diagnose/use-find.ts'
import { Big } from './Big.tsx'
import type { RunDesk } from './run-desk.ts'
import { useRun } from './use-run.ts'
import { repairLabel } from './words.ts'

/** Was it what Diagnose had advised? Nothing is counted before the person says so, and nothing waits for it. */
export function RepairAsked({ desk }: { readonly desk: RunDesk }) {
  const { repair, found } = useRun(desk)
  if (repair === undefined)
    return found === undefined ? null : (
      <p className="gd-soft" role="status">
        {writtenWords(found)}
      </p>
    )
  return (
    <section className="gd-asked" aria-label="Was it that?">
      <p>
        It is as it should be again. Diagnose had advised: <strong>{repairLabel(repair.causes)}</strong> Was
        it that?
      </p>
      <div>
        <Big hotkey="Y" onClick={() => desk.settle(true)}>
          Yes, that helped
        </Big>
        <Big hotkey="N" isQuiet onClick={() => desk.settle(false)}>
          No, something else
        </Big>
      </div>
    </section>
  )
}
