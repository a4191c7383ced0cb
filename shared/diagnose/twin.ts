import { around, type Bench, type BuiltImage, findType } from '../model/bench.ts'
import type { ModuleType, RadioType, ReceiverType } from '../model/catalogue.ts'
import type { Band, Route } from '../model/units.ts'
import { calmWorld, type Setup } from '../sim/world.ts'

/**
 * A small table on which everything is in order, made after a receiver of the bench: its own type with its own line,
 * boot loader and needs, but little flash, so that a whole session takes a few milliseconds. Causes are put into it, to
 * see what they look like.
 */

/** Everything on the twin's table goes by these ids. */
export const TWIN = {
  receiver: 'receiver',
  receiverType: 'receiver-type',
  module: 'module',
  moduleType: 'module-type',
  radio: 'radio',
  radioType: 'radio-type',
  card: 'card',
  supply: 'supply',
  cable: 'cable',
  image: 'image',
  sensor: 'sensor',
  model: 'model',
} as const

/** Generation, region and revision mean nothing here, only whether they agree. */
export const TWIN_GENERATION = 3
export const TWIN_REVISION = 'A'
const PROGRAM_BYTES = 8 * 1024
const IMAGE_BYTES = 6000
const USUAL_VOLTS = 5
const SENSOR_ADDRESS = 0x21

/** @returns undefined when the receiver or its type is not on the bench */
export function twinOf(bench: Bench, receiverId: string, route: Route): Setup | undefined {
  const { receiver, radio, module, sensors } = around(bench, receiverId)
  const type = receiver && findType(bench.catalogue, 'receiverTypes', receiver.typeId)
  if (type === undefined) return undefined
  const receiverType = soundReceiver(type as ReceiverType)
  const radioType = radio && (findType(bench.catalogue, 'radioTypes', radio.typeId) as RadioType | undefined)
  const moduleType =
    module && (findType(bench.catalogue, 'moduleTypes', module.typeId) as ModuleType | undefined)
  const [band] = receiverType.bands
  const volts = clamp(USUAL_VOLTS, receiverType.supply.leastVolts, receiverType.supply.mostVolts)
  const table: Bench = {
    ...bench,
    name: 'Twin',
    note: undefined,
    catalogue: {
      connectors: bench.catalogue.connectors,
      receiverTypes: [receiverType],
      moduleTypes: [soundModule(moduleType, receiverType.family, band)],
      radioTypes: [soundRadio(radioType, receiverType.connectorId, volts)],
      pairings: [
        {
          id: 'pairing',
          family: receiverType.family,
          generation: TWIN_GENERATION,
          receiverFirmware: '>=1.0.0',
          moduleFirmware: '>=2.0.0 <9.0.0',
        },
      ],
    },
    ...soundUnits(receiverType, band, volts, sensors.length > 0),
    images: [soundImage(receiverType, band)],
    wiring: { cableId: TWIN.cable, cableFeed: 'through-cable', distanceMetres: 2 },
  }
  return { bench: table, receiverId: TWIN.receiver, route, world: calmWorld }
}

const clamp = (value: number, least: number, most: number) => Math.min(most, Math.max(least, value))

const soundReceiver = (type: ReceiverType): ReceiverType => ({
  ...type,
  id: TWIN.receiverType,
  nativeGeneration: TWIN_GENERATION,
  conversions: [],
  hardwareRevisions: [TWIN_REVISION],
  wirelessUpdate: true,
  wirelessFrom: '2.0.0',
  flash: { ...type.flash, programBytes: PROGRAM_BYTES, pageBytes: 1024 },
  boot: { ...type.boot, protected: true },
})

const soundModule = (type: ModuleType | undefined, family: string, band: Band): ModuleType => ({
  id: TWIN.moduleType,
  maker: type?.maker ?? 'Unknown',
  name: type?.name ?? 'Module',
  family,
  bay: type?.bay ?? 'internal',
  bands: [...new Set<Band>([band, '2.4GHz', '868MHz'])],
  generations: [1, 2, TWIN_GENERATION],
  wirelessUpdate: true,
  powerDbm: Math.max(10, type?.powerDbm ?? 14),
  antennaGainDbi: type?.antennaGainDbi ?? 2,
  drawMilliamps: type?.drawMilliamps ?? 250,
})

const soundRadio = (type: RadioType | undefined, connectorId: string, volts: number): RadioType => ({
  id: TWIN.radioType,
  maker: type?.maker ?? 'Unknown',
  name: type?.name ?? 'Radio',
  bays: ['internal', 'external'],
  storage: { internal: true, card: true, reachedBy: 'start-in-storage-mode' },
  updatePort: { connectorId, supplyVolts: volts, limitMilliamps: 1000, sourceOhms: 0.2 },
  battery: { cells: 2, fullVolts: 8.4, updateMinVolts: 7, cutOffVolts: 6.2, internalOhms: 0.1 },
})

function soundUnits(type: ReceiverType, band: Band, volts: number, hasSensor: boolean) {
  return {
    radios: [
      {
        id: TWIN.radio,
        nickname: 'Radio',
        typeId: TWIN.radioType,
        systemVersion: '3.0.0',
        batteryVolts: 8.2,
        moduleIds: [TWIN.module],
        cardId: TWIN.card,
      },
    ],
    modules: [
      {
        id: TWIN.module,
        nickname: 'Module',
        typeId: TWIN.moduleType,
        firmware: '5.0.0',
        region: 'lbt' as const,
        on: true,
        band,
        generation: TWIN_GENERATION,
      },
    ],
    receivers: [
      {
        id: TWIN.receiver,
        nickname: 'Receiver',
        typeId: type.id,
        hardwareRevision: TWIN_REVISION,
        firmware: '2.1.0',
        region: 'lbt' as const,
        generation: TWIN_GENERATION,
        boundTo: TWIN.module,
        factoryFresh: false,
      },
    ],
    supplies: [
      {
        id: TWIN.supply,
        nickname: 'Supply',
        kind: 'regulator' as const,
        volts,
        internalOhms: 0.05,
        limitMilliamps: 5000,
      },
    ],
    cables: [
      {
        id: TWIN.cable,
        nickname: 'Cable',
        lengthMetres: 0.3,
        awg: 24,
        wires: (['signal', 'positive', 'negative'] as const).map(role => ({ from: role, to: role })),
      },
    ],
    cards: [
      {
        id: TWIN.card,
        nickname: 'Card',
        capacityBytes: 4_000_000_000,
        freeBytes: 3_000_000_000,
        clusterBytes: 4096,
        readOnly: false,
        writeBytesPerSecond: 20_000_000,
        folder: 'IMAGES',
      },
    ],
    sensors: hasSensor
      ? [
          {
            id: TWIN.sensor,
            nickname: 'Sensor',
            receiverId: TWIN.receiver,
            busAddress: SENSOR_ADDRESS,
            replyOctets: 8,
          },
        ]
      : [],
    models: [
      {
        id: TWIN.model,
        name: 'Model',
        kind: 'glider' as const,
        radioId: TWIN.radio,
        moduleId: TWIN.module,
        receiverIds: [TWIN.receiver],
        supplyId: TWIN.supply,
        servos: 0,
        propellerOrRotor: false,
      },
    ],
  }
}

const soundImage = (type: ReceiverType, band: Band): BuiltImage => ({
  id: TWIN.image,
  name: 'Image',
  typeId: type.id,
  version: '2.2.0',
  sequenceNumber: 22,
  generation: TWIN_GENERATION,
  bands: [band],
  region: 'lbt',
  hardwareRevisions: [TWIN_REVISION],
  wirelessCapable: true,
  radioSystem: '>=2.0.0',
  sizeBytes: IMAGE_BYTES,
  releaseNotes: '',
})
