import { type Bench, type BuiltImage, checkBench } from '../model/bench.ts'
import type { Model, ReceiverUnit } from '../model/gear.ts'
import { ProblemError } from '../model/problem.ts'
import { demoCatalogue } from './catalogue.ts'
import { model, programmerCable, programmerPins, receiver } from './make.ts'
import { serviceAdapters, serviceCables, serviceImages, serviceModels, serviceReceivers } from './service.ts'

/** The Marsh Lane club's fleet, invented: three radios, four modules, seventeen receivers, fourteen models. */

const receivers: ReceiverUnit[] = [
  receiver('wren-trainer', 'aldwick-wren-6', 'Wren in the club trainer', {
    firmware: '2.1.0',
    generation: 3,
    hardwareRevision: 'B',
    boundTo: 'inner-tarn',
  }),
  receiver('wren-glider', 'aldwick-wren-6', 'Wren in the thermal glider', {
    firmware: '2.3.0',
    generation: 3,
    hardwareRevision: 'B',
    boundTo: 'inner-tarn',
  }),
  receiver('wren-pylon', 'aldwick-wren-6', 'Wren in the pylon racer', {
    firmware: '2.1.0',
    generation: 3,
    hardwareRevision: 'A',
    boundTo: 'inner-quay',
  }),
  receiver('wren-new', 'aldwick-wren-6', 'New Wren, still in its bag', {
    firmware: '1.0.4',
    generation: 3,
    hardwareRevision: 'B',
    boundTo: 'inner-tarn',
    factoryFresh: true,
  }),
  receiver('wren-unmarked', 'aldwick-wren-6', 'Wren with no markings', {
    firmware: 'unknown',
    generation: 3,
    hardwareRevision: 'unknown',
    region: 'unknown',
    boundTo: 'inner-quay',
  }),
  receiver('heron-biplane', 'tamsin-heron-8', 'Heron in the biplane', {
    firmware: '1.6.0',
    generation: 2,
    hardwareRevision: '2',
    boundTo: 'inner-tarn',
  }),
  receiver('heron-scale', 'tamsin-heron-8', 'Heron in the scale tug', {
    firmware: '1.4.2',
    generation: 2,
    hardwareRevision: '1',
    boundTo: 'early-fell',
  }),
  receiver('heron-heli', 'tamsin-heron-8', 'Heron in the helicopter', {
    firmware: '1.6.0',
    generation: 2,
    hardwareRevision: '2',
    boundTo: 'inner-quay',
  }),
  receiver('finch-foamie', 'aldwick-finch-4', 'Finch in the foam wing', {
    firmware: '1.1.0',
    generation: 1,
    hardwareRevision: 'A',
    boundTo: 'early-fell',
  }),
  receiver('finch-car', 'aldwick-finch-4', 'Finch in the buggy', {
    firmware: '1.0.2',
    generation: 1,
    hardwareRevision: 'A',
    boundTo: 'early-fell',
  }),
  receiver('finch-boat', 'aldwick-finch-4', 'Finch in the springer boat', {
    firmware: '1.1.0',
    generation: 1,
    hardwareRevision: 'A',
    boundTo: 'early-fell',
  }),
  receiver('curlew-survey', 'tamsin-curlew-12', 'Curlew in the survey wing', {
    firmware: '2.0.1',
    generation: 3,
    hardwareRevision: '1',
    boundTo: 'reach-tarn',
  }),
  receiver('wren-quad', 'aldwick-wren-6', 'Wren in the quad', {
    firmware: '2.3.0',
    generation: 3,
    hardwareRevision: 'B',
    boundTo: 'inner-quay',
  }),
  receiver('wren-tug-second', 'aldwick-wren-6', 'Second Wren in the scale tug', {
    firmware: '2.0.0',
    generation: 3,
    hardwareRevision: 'A',
    boundTo: 'inner-tarn',
  }),
  receiver('flea-market', 'unknown', 'From the flea market, no markings', {
    firmware: 'unknown',
    generation: 'unknown',
    hardwareRevision: 'unknown',
    region: 'unknown',
  }),
  ...serviceReceivers,
]

const models: Model[] = [
  model('trainer', 'Club trainer', 'aeroplane', 'tarn', 'inner-tarn', ['wren-trainer'], 'regulator-6', 4),
  model('thermal', 'Thermal glider', 'glider', 'tarn', 'inner-tarn', ['wren-glider'], 'life-2', 6, false),
  model('pylon', 'Pylon racer', 'aeroplane', 'quay', 'inner-quay', ['wren-pylon'], 'regulator-5', 3),
  model('biplane', 'Biplane', 'aeroplane', 'tarn', 'inner-tarn', ['heron-biplane'], 'nimh-4', 5),
  model('tug', 'Scale tug', 'aeroplane', 'fell', 'early-fell', ['heron-scale'], 'life-2', 7),
  model('heli', 'Helicopter', 'helicopter', 'quay', 'inner-quay', ['heron-heli'], 'regulator-6', 4),
  model('foam-wing', 'Foam wing', 'aeroplane', 'fell', 'early-fell', ['finch-foamie'], 'regulator-5', 2),
  model('buggy', 'Buggy', 'car', 'fell', 'early-fell', ['finch-car'], 'regulator-5', 2, false),
  model('springer', 'Springer boat', 'boat', 'fell', 'early-fell', ['finch-boat'], 'nimh-4', 2),
  model('survey', 'Survey wing', 'aeroplane', 'tarn', 'reach-tarn', ['curlew-survey'], 'regulator-6', 5),
  model('quad', 'Camera quad', 'multirotor', 'quay', 'inner-quay', ['wren-quad'], 'regulator-5', 0),
  model('motor-glider', 'Motor glider', 'glider', 'tarn', 'inner-tarn', ['wren-tug-second'], 'nimh-4', 4),
  ...serviceModels,
]

const wrenImage = (
  version: string,
  sequenceNumber: number,
  sizeBytes: number,
  releaseNotes: string,
): BuiltImage => ({
  id: `wren-6-${version}`,
  name: `Wren 6, ${version}`,
  typeId: 'aldwick-wren-6',
  version,
  sequenceNumber,
  generation: 3,
  bands: ['2.4GHz'],
  region: 'lbt',
  hardwareRevisions: ['A', 'B'],
  wirelessCapable: true,
  moduleFirmware: '>=4.0.0 <7.0.0',
  sizeBytes,
  releaseNotes,
})

const heronImage = (version: string, sequenceNumber: number, releaseNotes: string): BuiltImage => ({
  ...wrenImage(version, sequenceNumber, 160 * 1024, releaseNotes),
  id: `heron-8-${version}`,
  name: `Heron 8, ${version}`,
  typeId: 'tamsin-heron-8',
  generation: 2,
  hardwareRevisions: ['1', '2'],
  moduleFirmware: '>=2.0.0 <7.0.0',
})

const images: BuiltImage[] = [
  wrenImage('2.4.0', 24, 256 * 1024, 'Telemetry rate raised; failsafe is kept over an update.'),
  wrenImage('2.3.0', 23, 252 * 1024, 'Second output rail for digital servos.'),
  wrenImage('2.1.0', 21, 248 * 1024, 'Diversity between both antennas.'),
  {
    ...heronImage(
      '1.7.0',
      17,
      'Hold position or no pulses can be chosen for each output. Takes over the settings of 1.6.0, not those of older versions: install 1.6.0 first.',
    ),
    receiverFirmware: '>=1.6.0',
  },
  heronImage('1.6.0', 16, 'Better rejection of strong neighbours.'),
  {
    ...heronImage('2.0.0', 20, 'Converts a Heron 8 to generation 3. There is no way back. By cable only.'),
    name: 'Heron 8, 2.0.0 (converts to generation 3)',
    generation: 3,
    convertsFrom: 2,
    wirelessCapable: false,
    hardwareRevisions: ['2'],
    moduleFirmware: '>=4.0.0 <7.0.0',
  },
  {
    ...wrenImage('1.2.0', 12, 96 * 1024, 'Steadier clock at low temperature.'),
    id: 'finch-4-1.2.0',
    name: 'Finch 4, 1.2.0',
    typeId: 'aldwick-finch-4',
    generation: 1,
    hardwareRevisions: ['A'],
    wirelessCapable: false,
    moduleFirmware: '>=1.0.0 <4.0.0',
  },
  {
    ...wrenImage('2.2.0', 22, 192 * 1024, 'Twelve outputs at full rate.'),
    id: 'curlew-12-2.2.0',
    name: 'Curlew 12, 2.2.0',
    typeId: 'tamsin-curlew-12',
    bands: ['868MHz', '915MHz'],
    hardwareRevisions: ['1'],
  },
  ...serviceImages,
]

/** What is found on a bench of this name is an exercise, and counts for no other. */
export const DEMO_BENCH_NAME = 'Marsh Lane club'

const bench: Bench = {
  format: 'preflash-bench',
  formatVersion: 1,
  name: DEMO_BENCH_NAME,
  note: 'An invented club with invented makers, to try everything on.',
  catalogue: demoCatalogue,
  radios: [
    {
      id: 'tarn',
      nickname: 'Club Tarn',
      typeId: 'aldwick-tarn-16',
      systemVersion: '3.1.0',
      batteryVolts: 7.9,
      moduleIds: ['inner-tarn', 'reach-tarn'],
      cardId: 'card-tarn',
    },
    {
      id: 'fell',
      nickname: 'Old Fell',
      typeId: 'aldwick-fell-10',
      systemVersion: '1.8.0',
      batteryVolts: 7.6,
      moduleIds: ['early-fell'],
      cardId: 'card-fell',
    },
    {
      id: 'quay',
      nickname: 'Racer’s Quay',
      typeId: 'tamsin-quay',
      systemVersion: '2.6.1',
      batteryVolts: 8.1,
      moduleIds: ['inner-quay'],
      cardId: 'card-quay',
    },
  ],
  modules: [
    {
      id: 'inner-tarn',
      nickname: 'Inner module of the Tarn',
      typeId: 'aldwick-skein-inner',
      firmware: '5.2.0',
      region: 'lbt',
      on: true,
      band: '2.4GHz',
      generation: 3,
    },
    {
      id: 'reach-tarn',
      nickname: 'Long-range module of the Tarn',
      typeId: 'tamsin-skein-reach',
      firmware: '4.1.0',
      region: 'lbt',
      on: true,
      band: '868MHz',
      generation: 3,
    },
    {
      id: 'early-fell',
      nickname: 'Module of the Fell',
      typeId: 'aldwick-skein-early',
      firmware: '3.4.0',
      region: 'lbt',
      on: true,
      band: '2.4GHz',
      generation: 2,
    },
    {
      id: 'inner-quay',
      nickname: 'Inner module of the Quay',
      typeId: 'aldwick-skein-inner',
      firmware: '4.6.0',
      region: 'lbt',
      on: true,
      band: '2.4GHz',
      generation: 3,
    },
  ],
  receivers,
  supplies: [
    {
      id: 'regulator-5',
      nickname: '5 V regulator',
      kind: 'regulator',
      volts: 5,
      internalOhms: 0.06,
      limitMilliamps: 3000,
    },
    {
      id: 'regulator-6',
      nickname: '6 V regulator',
      kind: 'regulator',
      volts: 6,
      internalOhms: 0.06,
      limitMilliamps: 5000,
    },
    {
      id: 'nimh-4',
      nickname: 'Four-cell NiMH pack',
      kind: 'pack',
      volts: 5.1,
      internalOhms: 0.12,
      limitMilliamps: 4000,
    },
    {
      id: 'life-2',
      nickname: 'Two-cell LiFe pack',
      kind: 'pack',
      volts: 6.6,
      internalOhms: 0.05,
      limitMilliamps: 6000,
    },
  ],
  cables: [
    {
      id: 'update-cable',
      nickname: 'Update cable, 30 cm',
      lengthMetres: 0.3,
      awg: 26,
      wires: [
        { from: 'signal', to: 'signal' },
        { from: 'positive', to: 'positive' },
        { from: 'negative', to: 'negative' },
      ],
    },
    {
      id: 'signal-cable',
      nickname: 'Cable without the positive wire',
      lengthMetres: 0.3,
      awg: 26,
      wires: [
        { from: 'signal', to: 'signal' },
        { from: 'negative', to: 'negative' },
      ],
    },
    programmerCable('programmer-cable', 'Programmer cable', [
      { from: 1, to: 3, through: 'wire' },
      { from: 2, to: 2, through: 'wire' },
      { from: 3, to: 1, through: 'resistor', ohms: 1000 },
      { from: 4, to: 1, through: 'wire' },
    ]),
    programmerCable('programmer-cable-swapped', 'Home-made cable, plus and minus swapped', [
      { from: 1, to: 2, through: 'wire' },
      { from: 2, to: 3, through: 'wire' },
      { from: 3, to: 1, through: 'resistor', ohms: 1000 },
      { from: 4, to: 1, through: 'wire' },
    ]),
    programmerCable('programmer-cable-tx-only', 'Cable with TX joined alone', [
      { from: 1, to: 3, through: 'wire' },
      { from: 2, to: 2, through: 'wire' },
      { from: 3, to: 1, through: 'wire' },
    ]),
    ...serviceCables,
  ],
  adapters: [
    {
      id: 'bench-programmer',
      nickname: 'Bench programmer',
      pins: programmerPins,
      keyed: false,
      signalVolts: 3.3,
      toleratesVolts: 5.5,
      inverts: false,
      supply: { volts: 5, limitMilliamps: 450, sourceOhms: 0.4 },
      note: 'An invented USB serial adapter. Its jumper is set to 3.3 V.',
    },
    {
      id: 'five-volt-adapter',
      nickname: 'Old adapter with 5 V signals',
      pins: programmerPins,
      keyed: false,
      signalVolts: 5,
      toleratesVolts: 5.5,
      inverts: false,
      supply: { volts: 5, limitMilliamps: 450, sourceOhms: 0.4 },
    },
    ...serviceAdapters,
  ],
  cards: ['tarn', 'fell', 'quay'].map((radioId, i) => ({
    id: `card-${radioId}`,
    nickname: ['Card in the Tarn', 'Card in the Fell', 'Card in the Quay'][i],
    capacityBytes: 7_948_206_080,
    freeBytes: [6_100_000_000, 410_000_000, 2_750_000_000][i],
    clusterBytes: 4096,
    readOnly: false,
    writeBytesPerSecond: 2_000_000,
    folder: 'IMAGES',
  })),
  sensors: [
    {
      id: 'vario',
      nickname: 'Vario in the trainer',
      receiverId: 'wren-trainer',
      busAddress: 0x21,
      replyOctets: 10,
    },
    {
      id: 'current',
      nickname: 'Current sensor in the trainer',
      receiverId: 'wren-trainer',
      busAddress: 0x23,
      replyOctets: 8,
    },
    {
      id: 'vario-thermal',
      nickname: 'Vario in the glider',
      receiverId: 'wren-glider',
      busAddress: 0x21,
      replyOctets: 10,
    },
    {
      id: 'rpm-heli',
      nickname: 'Rotor speed sensor',
      receiverId: 'heron-heli',
      busAddress: 0x24,
      replyOctets: 6,
    },
  ],
  models,
  images,
  wiring: { cableId: 'update-cable', cableFeed: 'through-cable', benchSupplyId: 'nimh-4', distanceMetres: 2 },
}

/** What the command line and the first screen take when nothing else is said. */
export const demoDefaults = { receiverId: 'wren-trainer', imageId: 'wren-6-2.4.0', route: 'cable' } as const

/** A fresh copy of the demo bench, checked like any bench file. */
export function demoBench(): Bench {
  const checked = checkBench(structuredClone(bench))
  if (!checked.ok) throw new ProblemError(checked.problems[0])
  return checked.value
}
