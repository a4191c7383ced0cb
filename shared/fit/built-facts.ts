import type { BuiltImage } from '../model/bench.ts'
import type { ReceiverType } from '../model/catalogue.ts'
import type { ImageFacts } from './situation.ts'

/**
 * What the rules look at of an image that the bench builds itself, without building it: five thousand of them are
 * ranked while somebody types.
 * @param own the type that the image is for, where the catalogue has it; gives the address it is linked for
 */
export const builtFacts = (image: BuiltImage, own: ReceiverType | undefined): ImageFacts => ({
  typeId: image.typeId,
  version: image.version,
  sequenceNumber: image.sequenceNumber,
  generation: image.generation,
  convertsFrom: image.convertsFrom,
  bands: image.bands,
  region: image.region,
  hardwareRevisions: image.hardwareRevisions,
  wirelessCapable: image.wirelessCapable,
  moduleFirmware: image.moduleFirmware,
  radioSystem: image.radioSystem,
  programAddress: own?.flash.programAddress ?? 0,
  sizeBytes: image.sizeBytes,
  outsideBytes: 0,
  intact: true,
  receiverFirmware: image.receiverFirmware,
  label: 'agrees',
  signature: undefined,
})
