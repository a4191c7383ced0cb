import type { Asked, Tried } from './use-diagnosis.ts'

type Repairs = Pick<Asked, 'tried' | 'putOff' | 'helped'>

const touches = (one: Tried, ids: readonly string[]): boolean => one.ids.some(id => ids.includes(id))
const without = (list: readonly Tried[], ids: readonly string[]) => list.filter(one => !touches(one, ids))

/** These were put right, and it is still the same; what was put off of them has been done, then. */
export const stillTheSame = (repairs: Repairs, one: Tried): Repairs => ({
  tried: [...repairs.tried, one],
  putOff: without(repairs.putOff, one.ids),
  helped: undefined,
})

/** These cannot be put right now. */
export const putOffNow = (repairs: Repairs, one: Tried): Repairs => ({
  ...repairs,
  putOff: [...without(repairs.putOff, one.ids), one],
})
