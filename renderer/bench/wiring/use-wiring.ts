import { useMemo } from 'react'
import type { Bench } from '../../../shared/model/bench.ts'
import { checkWiring, type WiringCheck } from '../../../shared/wiring/check.ts'
import type { Line, WiringChoices } from '../../../shared/wiring/setup.ts'

/** What a person has chosen so far. */
export type ChosenWiring = Partial<WiringChoices>

/** The adapter and cable that come first to hand, for a bench on which nothing was chosen yet. */
export function firstChoices(bench: Bench): ChosenWiring {
  return {
    adapterId: bench.adapters[0]?.id,
    cableId: bench.cables.find(c => c.pinWires !== undefined)?.id,
    feed: 'through-cable',
  }
}

/** @returns undefined until adapter and cable are chosen, and where one of them is no longer on the bench */
export function checkChosen(
  bench: Bench,
  receiverId: string,
  { adapterId, cableId, feed = 'through-cable', supplyId }: ChosenWiring,
  line?: Line,
  dialect?: string,
): WiringCheck | undefined {
  if (adapterId === undefined || cableId === undefined) return undefined
  const done = checkWiring({ bench, receiverId, adapterId, cableId, feed, supplyId, line, dialect })
  return done.ok ? done.value : undefined
}

/** The check of what is chosen, made anew whenever anything of it changes. */
export const useWiringCheck = (
  bench: Bench,
  receiverId: string,
  choices: ChosenWiring,
  line?: Line,
  dialect?: string,
): WiringCheck | undefined =>
  useMemo(
    () => checkChosen(bench, receiverId, choices, line, dialect),
    [bench, receiverId, choices, line, dialect],
  )
