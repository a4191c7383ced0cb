import type { Bench } from '../model/bench.ts'
import type { ReceiverUnit } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import type { WithImage } from './image-rule.ts'
import { withUnit } from './rule.ts'
import type { ImageFacts } from './situation.ts'

/** What an update with this image leaves of the receiver; what the image does not say stays as it was. */
function unitAfter(receiver: ReceiverUnit, image: ImageFacts): Partial<ReceiverUnit> {
  return {
    firmware: image.version,
    generation: isKnown(image.generation) ? image.generation : receiver.generation,
    factoryFresh: false,
  }
}

/** The bench once the receiver runs the image. */
export const benchAfter = ({ bench, receiver, image }: WithImage): Bench =>
  withUnit(bench, 'receivers', receiver.id, unitAfter(receiver, image))
