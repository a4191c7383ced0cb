import type { Connector, ReceiverType } from '../model/catalogue.ts'
import { invented, receiverAir } from './make.ts'

/** Types of the demo that have a connector of their own for their boot loaders. Invented; no such things are sold. */

export const serviceConnector: Connector = {
  id: 'service-four',
  name: 'Service connector, four pins, 1.25 mm',
  keyed: true,
  pins: [
    { name: 'GND', role: 'negative' },
    { name: 'V+', role: 'positive' },
    { name: 'RX', role: 'receive' },
    { name: 'TX', role: 'transmit' },
  ],
  source: invented,
}

const service = {
  connectorId: serviceConnector.id,
  signalVolts: 3.3,
  toleratesVolts: 3.6,
  inverted: false,
} as const

const common = {
  family: 'Skein',
  bands: ['2.4GHz'],
  conversions: [],
  wirelessUpdate: true,
  connectorId: 'three-pin',
  supply: { leastVolts: 4, mostVolts: 10, brownOutVolts: 3.4, restartVolts: 3.7 },
  draw: { idleMilliamps: 75, bootMilliamps: 45, flashMilliamps: 35, radioMilliamps: 40 },
  air: receiverAir,
  source: invented,
} satisfies Partial<ReceiverType>

const bus = {
  baud: 115_200,
  inverted: false,
  signalVolts: 3.3,
  toleratesVolts: 3.6,
  turnaroundMicros: 200,
} as const

const flash = {
  // Behind the eight pages of its boot loader.
  programAddress: 0x0800_2000,
  pageBytes: 1024,
  wordBytes: 2,
  eraseMs: { least: 20, most: 40 },
  programMicros: { least: 40, most: 70 },
  enduranceCycles: 10_000,
} as const

export const serviceTypes: ReceiverType[] = [
  {
    ...common,
    id: 'aldwick-plover-10',
    maker: 'Aldwick',
    name: 'Plover 10',
    note: 'Two pads beside the service connector: bridged while power comes on, the loader in the ROM of the controller waits at RX and TX.',
    nativeGeneration: 3,
    hardwareRevisions: ['A'],
    wirelessFrom: '2.0.0',
    channels: 10,
    flash: { ...flash, programBytes: 96 * 1024 },
    boot: { settleMs: 120, listenMs: 400, version: '1.4.0', protected: true, notesRomStart: true },
    bus,
    service: { ...service, dialects: ['st-an3155'] },
    looks: {
      antennaCount: 2,
      antennaKind: 'coaxial',
      outputs: 10,
      lengthMillimetres: 62,
      widthMillimetres: 30,
    },
  },
  {
    ...common,
    id: 'tamsin-dunlin-5',
    maker: 'Tamsin',
    name: 'Dunlin 5',
    note: 'Switched on with its button held, its boot loader asks for an image at the service connector.',
    nativeGeneration: 2,
    hardwareRevisions: ['1'],
    channels: 5,
    flash: { ...flash, programBytes: 64 * 1024 },
    boot: { settleMs: 140, listenMs: 400, version: '1.0.0', protected: true },
    bus,
    service: { ...service, dialects: ['xmodem-1k', 'xmodem-crc', 'ymodem'] },
    looks: {
      antennaCount: 1,
      antennaKind: 'coaxial',
      outputs: 5,
      lengthMillimetres: 34,
      widthMillimetres: 21,
    },
  },
]
