import type { Bench, BuiltImage } from '../../shared/model/bench.ts'
import type { Connector, ModuleType, Pairing, RadioType, ReceiverType } from '../../shared/model/catalogue.ts'
import type {
  AdapterUnit,
  CableUnit,
  CardUnit,
  Model,
  ModuleUnit,
  RadioUnit,
  ReceiverUnit,
  SensorUnit,
  SupplyUnit,
} from '../../shared/model/gear.ts'
import { UNKNOWN } from '../../shared/model/units.ts'

/**
 * What the form for a new thing starts with: what nobody can know for the person stays empty or "not known", and only
 * what is usual is filled in. An id is made from the name when the thing is saved.
 */

const receiver = (bench: Bench): ReceiverUnit => ({
  id: '',
  nickname: '',
  typeId: bench.catalogue.receiverTypes[0]?.id ?? UNKNOWN,
  hardwareRevision: UNKNOWN,
  firmware: UNKNOWN,
  region: UNKNOWN,
  generation: bench.catalogue.receiverTypes[0]?.nativeGeneration ?? UNKNOWN,
  factoryFresh: false,
})

const moduleUnit = (bench: Bench): ModuleUnit => ({
  id: '',
  nickname: '',
  typeId: bench.catalogue.moduleTypes[0]?.id ?? '',
  firmware: UNKNOWN,
  region: UNKNOWN,
  on: true,
  band: bench.catalogue.moduleTypes[0]?.bands[0] ?? '2.4GHz',
  generation: UNKNOWN,
})

const radio = (bench: Bench): RadioUnit => ({
  id: '',
  nickname: '',
  typeId: bench.catalogue.radioTypes[0]?.id ?? '',
  systemVersion: UNKNOWN,
  batteryVolts: bench.catalogue.radioTypes[0]?.battery.fullVolts ?? 8.4,
  moduleIds: [],
})

const supply = (): SupplyUnit => ({
  id: '',
  nickname: '',
  kind: 'regulator',
  volts: 5,
  internalOhms: 0.1,
  limitMilliamps: 3000,
})

const cable = (): CableUnit => ({
  id: '',
  nickname: '',
  lengthMetres: 0.3,
  awg: 26,
  wires: (['signal', 'positive', 'negative'] as const).map(role => ({ from: role, to: role })),
})

const adapter = (): AdapterUnit => ({
  id: '',
  nickname: '',
  pins: [
    { name: 'GND', role: 'ground' },
    { name: 'VCC', role: 'supply' },
    { name: 'TXD', role: 'transmit' },
    { name: 'RXD', role: 'receive' },
  ],
  keyed: UNKNOWN,
  signalVolts: UNKNOWN,
  toleratesVolts: UNKNOWN,
  inverts: UNKNOWN,
  supply: UNKNOWN,
})

const card = (): CardUnit => ({
  id: '',
  nickname: '',
  capacityBytes: 8_000_000_000,
  freeBytes: 4_000_000_000,
  clusterBytes: 4096,
  readOnly: false,
  writeBytesPerSecond: 2_000_000,
  folder: 'IMAGES',
})

const LOWEST_ADDRESS = 0x20
const HIGHEST_ADDRESS = 0x3f

/** On the first receiver, at the first address that none of its sensors has. */
const sensor = (bench: Bench): SensorUnit => {
  const receiverId = bench.receivers[0]?.id ?? ''
  const taken = bench.sensors.filter(s => s.receiverId === receiverId).map(s => s.busAddress)
  let busAddress = LOWEST_ADDRESS
  while (taken.includes(busAddress) && busAddress < HIGHEST_ADDRESS) busAddress += 1
  return { id: '', nickname: '', receiverId, busAddress, replyOctets: 8 }
}

const model = (bench: Bench): Model => ({
  id: '',
  name: '',
  kind: 'aeroplane',
  radioId: bench.radios[0]?.id ?? '',
  moduleId: bench.radios[0]?.moduleIds[0] ?? bench.modules[0]?.id ?? '',
  receiverIds: [],
  supplyId: bench.supplies[0]?.id ?? '',
  servos: 4,
  propellerOrRotor: true,
})

const radioType = (): RadioType => ({
  id: '',
  maker: '',
  name: '',
  bays: ['internal'],
  storage: { internal: false, card: true, reachedBy: UNKNOWN },
  updatePort: UNKNOWN,
  battery: { cells: 2, fullVolts: 8.4, updateMinVolts: UNKNOWN, cutOffVolts: 6.2, internalOhms: 0.15 },
})

const moduleType = (bench: Bench): ModuleType => ({
  id: '',
  maker: '',
  name: '',
  family: bench.catalogue.moduleTypes[0]?.family ?? '',
  bay: 'internal',
  bands: ['2.4GHz'],
  generations: UNKNOWN,
  wirelessUpdate: UNKNOWN,
  powerDbm: 18,
  antennaGainDbi: 2,
  drawMilliamps: 250,
})

/** Flash times after ST DS5319, tables 28 and 29, as in the schema. */
const receiverType = (bench: Bench): ReceiverType => ({
  id: '',
  maker: '',
  name: '',
  family: bench.catalogue.receiverTypes[0]?.family ?? '',
  bands: ['2.4GHz'],
  nativeGeneration: UNKNOWN,
  conversions: [],
  hardwareRevisions: [],
  wirelessUpdate: UNKNOWN,
  channels: 8,
  flash: {
    programAddress: 0,
    programBytes: 256 * 1024,
    pageBytes: 1024,
    wordBytes: 2,
    eraseMs: { least: 20, most: 40 },
    programMicros: { least: 40, most: 70 },
    enduranceCycles: 10_000,
  },
  boot: { settleMs: 150, listenMs: 400, version: UNKNOWN, protected: UNKNOWN },
  bus: { baud: 115_200, inverted: UNKNOWN, signalVolts: 3.3, turnaroundMicros: 200 },
  connectorId: bench.catalogue.connectors[0]?.id ?? '',
  supply: { leastVolts: 4, mostVolts: 8.4, brownOutVolts: 3.4, restartVolts: 3.7 },
  draw: { idleMilliamps: 70, bootMilliamps: 45, flashMilliamps: 35, radioMilliamps: 40 },
  air: { sensitivityDbm: -98, overloadDbm: -10, antennaGainDbi: 0 },
})

const connector = (): Connector => ({
  id: '',
  name: '',
  keyed: UNKNOWN,
  pins: [
    { name: 'S', role: 'signal' },
    { name: '+', role: 'positive' },
    { name: '-', role: 'negative' },
  ],
})

const pairing = (bench: Bench): Pairing => ({
  id: '',
  family: bench.catalogue.receiverTypes[0]?.family ?? '',
  generation: 1,
  receiverFirmware: '>=0.0.0',
  moduleFirmware: '',
})

const image = (bench: Bench): BuiltImage => ({
  id: '',
  name: '',
  typeId: bench.catalogue.receiverTypes[0]?.id ?? '',
  version: '',
  sequenceNumber: 1,
  generation: 1,
  bands: bench.catalogue.receiverTypes[0]?.bands ?? ['2.4GHz'],
  region: 'any',
  hardwareRevisions: 'any',
  wirelessCapable: UNKNOWN,
  sizeBytes: 128 * 1024,
  releaseNotes: '',
})

export const blanks = {
  receivers: receiver,
  models: model,
  modules: moduleUnit,
  radios: radio,
  supplies: supply,
  cables: cable,
  adapters: adapter,
  cards: card,
  sensors: sensor,
  receiverTypes: receiverType,
  moduleTypes: moduleType,
  radioTypes: radioType,
  connectors: connector,
  pairings: pairing,
  images: image,
} as const
