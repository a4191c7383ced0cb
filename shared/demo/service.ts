import type { BuiltImage } from '../model/bench.ts'
import type { AdapterUnit, CableUnit, Model, PinWire, ReceiverUnit } from '../model/gear.ts'
import { model, programmerCable, programmerPins, receiver } from './make.ts'

/** What the club has of the types with a service connector, and what it writes them with. */

export const serviceReceivers: ReceiverUnit[] = [
  receiver('plover-soarer', 'aldwick-plover-10', 'Plover in the electric soarer', {
    firmware: '2.2.0',
    generation: 3,
    hardwareRevision: 'A',
    boundTo: 'inner-tarn',
  }),
  receiver('dunlin-ketch', 'tamsin-dunlin-5', 'Dunlin in the sailing ketch', {
    firmware: '1.3.0',
    generation: 2,
    hardwareRevision: '1',
    boundTo: 'early-fell',
  }),
]

export const serviceModels: Model[] = [
  model('soarer', 'Electric soarer', 'glider', 'tarn', 'inner-tarn', ['plover-soarer'], 'regulator-5', 6),
  model('ketch', 'Sailing ketch', 'boat', 'fell', 'early-fell', ['dunlin-ketch'], 'nimh-4', 2, false),
]

const ploverImage = (version: string, sequenceNumber: number, sizeBytes: number, releaseNotes: string) =>
  ({
    id: `plover-10-${version}`,
    name: `Plover 10, ${version}`,
    typeId: 'aldwick-plover-10',
    version,
    sequenceNumber,
    generation: 3,
    bands: ['2.4GHz'],
    region: 'lbt',
    hardwareRevisions: ['A'],
    wirelessCapable: true,
    moduleFirmware: '>=4.0.0 <7.0.0',
    sizeBytes,
    releaseNotes,
  }) satisfies BuiltImage

const dunlinImage = (version: string, sequenceNumber: number, sizeBytes: number, releaseNotes: string) => ({
  ...ploverImage(version, sequenceNumber, sizeBytes, releaseNotes),
  id: `dunlin-5-${version}`,
  name: `Dunlin 5, ${version}`,
  typeId: 'tamsin-dunlin-5',
  generation: 2,
  hardwareRevisions: ['1'],
  moduleFirmware: '>=2.0.0 <7.0.0',
})

export const serviceImages: BuiltImage[] = [
  ploverImage('2.3.0', 23, 80 * 1024, 'Brake and flap outputs can be slowed down.'),
  ploverImage('2.2.0', 22, 76 * 1024, 'Reports the voltage of its supply.'),
  dunlinImage('1.4.0', 14, 48 * 1024, 'The sail winch keeps its place when the link is lost.'),
  dunlinImage('1.3.0', 13, 46 * 1024, 'First delivery.'),
]

const serviceCable = (id: string, nickname: string, pinWires: [number, number][]): CableUnit =>
  programmerCable(
    id,
    nickname,
    pinWires.map(([from, to]): PinWire => ({ from, to, through: 'wire' })),
  )

/** From an adapter's first four pins to the service connector: 1 ground, 2 positive, 3 hears, 4 sends. */
export const serviceCables: CableUnit[] = [
  serviceCable('service-cable', 'Service cable', [
    [1, 1],
    [2, 2],
    [3, 3],
    [4, 4],
  ]),
  serviceCable('service-cable-crossed', 'Home-made service cable, RX and TX mixed up', [
    [1, 1],
    [2, 2],
    [3, 4],
    [4, 3],
  ]),
]

export const serviceAdapters: AdapterUnit[] = [
  {
    id: 'service-adapter',
    nickname: 'Service adapter, 3.3 V',
    pins: [...programmerPins, { name: 'DTR', role: 'dtr' }, { name: 'RTS', role: 'rts' }],
    keyed: false,
    signalVolts: 3.3,
    toleratesVolts: 3.6,
    inverts: false,
    supply: { volts: 5, limitMilliamps: 450, sourceOhms: 0.4 },
    note: 'An invented USB serial adapter with 3.3 V signals that cannot be set otherwise.',
  },
]
