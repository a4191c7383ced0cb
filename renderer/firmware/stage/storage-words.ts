import type { Bench } from '../../../shared/model/bench.ts'
import { around, findType } from '../../../shared/model/bench.ts'
import type { RadioType } from '../../../shared/model/catalogue.ts'
import { isKnown } from '../../../shared/model/units.ts'

/** How the storage of a radio comes into sight on this computer, step by step, and what then shows up. */
export interface StorageWords {
  /** `Club Tarn, Aldwick Tarn 16`; undefined where the bench has no radio for the receiver. */
  readonly radio: string | undefined
  /** One way each; two where it is not known which of them this radio takes. */
  readonly ways: readonly string[]
  /** What is not known, in a sentence; undefined where it is. */
  readonly notKnown: string | undefined
  readonly shows: string
}

const CHOOSE =
  'Switch the radio on, plug the USB cable in, and choose storage, not joystick, when the radio asks.'
const START =
  'Switch the radio off, start it in its storage mode (its manual names the keys), and only then plug the USB cable in.'

/** @param receiverId of the receiver whose radio is meant */
export function storageWords(bench: Bench, receiverId: string): StorageWords {
  const { radio } = around(bench, receiverId)
  const type = radio && (findType(bench.catalogue, 'radioTypes', radio.typeId) as RadioType | undefined)
  if (radio === undefined || type === undefined)
    return {
      radio: radio?.nickname,
      ways: [CHOOSE, START],
      notKnown: 'Which radio this is for is not on the bench, so either may be right.',
      shows: 'Or put its card into a reader.',
    }
  const { reachedBy } = type.storage
  const known = isKnown(reachedBy)
  return {
    radio: `${radio.nickname}, ${type.maker} ${type.name}`,
    ways: known ? [reachedBy === 'choose-when-usb-goes-in' ? CHOOSE : START] : [CHOOSE, START],
    notKnown: known ? undefined : 'Which of the two this radio takes is not known.',
    shows: showsOf(type.storage),
  }
}

function showsOf({ internal, card }: RadioType['storage']): string {
  if (internal && card)
    return 'Two volumes then show up: its own storage, a few megabytes, and the card, which is the one to take. Or put the card into a reader.'
  if (card) return 'One volume then shows up: its card. Or put the card into a reader.'
  if (internal) return 'One volume then shows up: its own storage. It takes no card.'
  return 'The bench says that it has neither storage of its own nor a card.'
}
