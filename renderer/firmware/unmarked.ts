import type { Bench } from '../../shared/model/bench.ts'
import type { ReceiverUnit } from '../../shared/model/gear.ts'
import { UNKNOWN } from '../../shared/model/units.ts'
import { freeId } from '../fleet/edit.ts'

/** The bench with one more receiver, of which nothing is known. It can be called something else in the Fleet view. */
export function addUnmarked(bench: Bench): { bench: Bench; id: string; label: string } {
  const names = new Set(bench.receivers.map(r => r.nickname))
  const name = 'Receiver without markings'
  let nickname = name
  for (let n = 2; names.has(nickname); n++) nickname = `${name} ${n}`
  const id = freeId(bench, 'receivers', nickname)
  const unit: ReceiverUnit = {
    id,
    nickname,
    typeId: UNKNOWN,
    hardwareRevision: UNKNOWN,
    firmware: UNKNOWN,
    region: UNKNOWN,
    generation: UNKNOWN,
    factoryFresh: false,
  }
  return { bench: { ...bench, receivers: [...bench.receivers, unit] }, id, label: `Add ${nickname}` }
}
