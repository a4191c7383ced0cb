import type { Bench } from '../../../shared/model/bench.ts'
import { type Standing, standings, stepWords } from '../step.ts'

/** What a change of the bench does to the receivers on it, by the fit rules. */

export interface StepChange {
  readonly receiverId: string
  readonly nickname: string
  readonly before: string
  readonly after: string
  readonly fellOut: boolean
  /** The first thing that stands in the way now. */
  readonly because: string | undefined
}

const whyNot = ({ findings, step }: Standing): string | undefined =>
  step === 'in-step'
    ? undefined
    : findings.find(
        f => f.rule.severity === 'block' && f.holds === (step === 'out-of-step' ? 'no' : 'unknown'),
      )?.sentence

/** Receivers that were there before and whose standing is another one now. */
export function stepChanges(before: Bench, after: Bench): StepChange[] {
  const was = standings(before)
  return [...standings(after)].flatMap(([receiverId, now]) => {
    const then = was.get(receiverId)
    if (then === undefined || then.step === now.step) return []
    return {
      receiverId,
      nickname: now.receiver.nickname,
      before: stepWords[then.step],
      after: stepWords[now.step],
      fellOut: now.step !== 'in-step',
      because: whyNot(now),
    }
  })
}

/** How many units of the bench are of a type. */
export const unitsOf = (bench: Bench, kind: string, typeId: string): number =>
  kind === 'receiverTypes'
    ? bench.receivers.filter(unit => unit.typeId === typeId).length
    : kind === 'moduleTypes'
      ? bench.modules.filter(unit => unit.typeId === typeId).length
      : kind === 'radioTypes'
        ? bench.radios.filter(unit => unit.typeId === typeId).length
        : 0
