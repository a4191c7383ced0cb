import { rehearse } from '../rehearse/rehearse.ts'
import type { Recovery, RehearsalRequest } from '../rehearse/report.ts'
import { FLASH_OP, type FlashLog } from '../sim/trace.ts'
import type { Runbook } from './schema.ts'

/**
 * How the receiver is brought back from a run that was broken off: the simulation breaks it off half-way through the
 * writing, and where the boot loader is replaced, half-way through that, and carries the recovery out.
 * @param flash of the rehearsal that went well
 * @returns null for what does not happen with this image, or what nothing brings back
 */
export function recoveriesFor(request: RehearsalRequest, flash: FlashLog): Runbook['recovery'] {
  const cutAt = (index: number | undefined): Recovery | null => {
    if (index === undefined) return null
    const done = rehearse(request, { cut: { at: 'flash-op', index, when: 'during' } })
    return done.ok ? done.value.report.recovery : null
  }
  const written = cutAt(middleOf(flash, [FLASH_OP.erase, FLASH_OP.program]))
  return { written, bootLoader: cutAt(middleOf(flash, [FLASH_OP.bootErase, FLASH_OP.bootProgram])) }
}

/** The one in the middle of the operations of these kinds. */
function middleOf({ count, kind }: FlashLog, kinds: readonly number[]): number | undefined {
  const found: number[] = []
  for (let i = 0; i < count; i++) if (kinds.includes(kind[i])) found.push(i)
  return found[Math.floor(found.length / 2)]
}
