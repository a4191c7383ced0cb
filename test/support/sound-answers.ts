import type { CautionAnswers } from '../../shared/bench-run/check.ts'
import type { WritePlan } from '../../shared/bench-run/plan.ts'

/** What a person answers who has looked, and all is as the plan says. */
export const soundAnswers = (plan: WritePlan): CautionAnswers => ({
  supply: plan.feed === 'through-cable' ? 'adapter' : (plan.supplyId ?? 'adapter'),
  drive: hasPropeller(plan) ? 'bare' : 'servos',
  reach: 'clear',
  label: plan.bench.receivers.find(r => r.id === plan.receiverId)?.typeId ?? '',
})

const hasPropeller = ({ bench, receiverId }: WritePlan): boolean =>
  bench.models.find(m => m.receiverIds.includes(receiverId))?.propellerOrRotor ?? true
