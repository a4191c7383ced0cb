import type { SignatureVerdict } from '../image/signature.ts'
import { around, type Bench, findType } from '../model/bench.ts'
import type { ModuleType, RadioType, ReceiverType } from '../model/catalogue.ts'
import type {
  CableUnit,
  CardUnit,
  Model,
  ModuleUnit,
  RadioUnit,
  ReceiverUnit,
  SupplyUnit,
  Wiring,
} from '../model/gear.ts'
import type { Band, Known, Region, Route } from '../model/units.ts'

/** What the rules look at of an image: its card, and what was found when it was read. */
export interface ImageFacts {
  readonly typeId: Known<string>
  readonly version: Known<string>
  readonly sequenceNumber: Known<number>
  readonly generation: Known<number>
  readonly convertsFrom: number | undefined
  readonly bands: Known<readonly Band[]>
  readonly region: Known<Region> | 'any'
  readonly hardwareRevisions: Known<readonly string[]> | 'any'
  readonly wirelessCapable: Known<boolean>
  /** Semver ranges that the image asks of what it works with. */
  readonly moduleFirmware: string | undefined
  readonly radioSystem: string | undefined
  /** Semver range of what the receiver has to run before; RFC 9124, required image version list. */
  readonly receiverFirmware: string | undefined
  readonly programAddress: number
  readonly sizeBytes: number
  /** Octets that lie outside the receiver's program flash. */
  readonly outsideBytes: number
  /** Does the payload have the digest that its card states? */
  readonly intact: Known<boolean>
  /** Does the block inside the image say the same as its card? `none`: there is no such block. */
  readonly label: 'agrees' | 'differs' | 'none'
  /** What the maker's signature proves; undefined where nobody has looked, as a receiver does not. */
  readonly signature: SignatureVerdict | undefined
}

/** Everything one update involves, gathered once so that rules need not search. */
export interface Situation {
  readonly bench: Bench
  readonly route: Route
  readonly receiver: ReceiverUnit
  readonly receiverType: ReceiverType
  readonly radio: RadioUnit | undefined
  readonly radioType: RadioType | undefined
  readonly module: ModuleUnit | undefined
  readonly moduleType: ModuleType | undefined
  readonly card: CardUnit | undefined
  readonly supply: SupplyUnit | undefined
  readonly cable: CableUnit | undefined
  readonly model: Model | undefined
  readonly wiring: Wiring
  readonly image: ImageFacts | undefined
}

/** @returns undefined when the receiver or its type is not on the bench */
export function situationOf(
  bench: Bench,
  receiverId: string,
  route: Route,
  image: ImageFacts | undefined,
): Situation | undefined {
  const { receiver, radio, module, card, supply, cable, model } = around(bench, receiverId)
  const receiverType = receiver && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  if (receiver === undefined || receiverType === undefined) return undefined
  return {
    bench,
    route,
    receiver,
    receiverType,
    radio,
    radioType: radio && findType(bench.catalogue, 'radioTypes', radio.typeId),
    module,
    moduleType: module && findType(bench.catalogue, 'moduleTypes', module.typeId),
    card,
    supply,
    cable,
    model,
    wiring: bench.wiring,
    image,
  }
}
