import { type Bench, type BuiltImage, checkBench } from '../../shared/model/bench.ts'
import type { ModuleType, RadioType, ReceiverType } from '../../shared/model/catalogue.ts'
import type { Model, Wiring } from '../../shared/model/gear.ts'
import { ProblemError } from '../../shared/model/problem.ts'
import type { Band, Route } from '../../shared/model/units.ts'
import { type Answers, readName, readVersion, readVolts } from './answers.ts'
import { type Assumption, Ledger } from './assumed.ts'
import { CONNECTOR_ID, FAMILY, receiverTypeFrom } from './receiver-type.ts'

export interface NewBenchResult {
  readonly bench: Bench
  readonly receiverId: string
  readonly route: Route
  readonly assumed: readonly Assumption[]
  readonly open: Ledger['open']
}

const IDS = {
  radio: 'radio',
  radioType: 'own-radio',
  module: 'module',
  moduleType: 'own-module',
  receiver: 'receiver',
  card: 'storage',
  supply: 'supply',
  cable: 'update-cable',
  model: 'model',
} as const

/**
 * A bench with one radio, module and receiver, each of a type of its own. Whatever may be unknown stays unknown;
 * whatever must have a value gets a common one and is listed in `assumed` and in the note of its type. Without an
 * image file, the bench gets a practice image that Preflash builds itself.
 */
export function newBench(answers: Answers): NewBenchResult {
  const ledger = new Ledger()
  const bands = bandsFrom(answers, ledger)
  const receiverType = receiverTypeFrom(answers, [bands.receiver], ledger)
  const radio = radioFrom(answers, ledger)
  const module = moduleFrom(answers, bands.module, ledger)
  const route = ledger.orAssume(answers.route, 'cable', 'table', 'Route', 'by cable', 'it asks for the least')
  const table = tableFrom(answers, route, receiverType, ledger)
  const receiver: Bench['receivers'][number] = {
    id: IDS.receiver,
    nickname: receiverName(answers),
    typeId: receiverType.id,
    hardwareRevision: ledger.orOpen<string>(undefined, 'receiver', 'Hardware revision'),
    firmware: ledger.orOpen(readVersion(answers.receiverFirmware), 'receiver', 'Firmware'),
    region: ledger.orOpen(answers.region, 'receiver', 'Region'),
    generation: answers.generation ?? 'unknown',
    boundTo: IDS.module,
    factoryFresh: false,
  }
  const images = answers.image ? [] : [practiceImage(receiverType, receiver.firmware)]
  if (images.length > 0)
    ledger.assume(
      'receiver',
      'Image',
      'a practice image that Preflash builds',
      'for rehearsing only, no firmware',
    )
  const checked = checkBench({
    format: 'preflash-bench',
    formatVersion: 1,
    name: `${radio.unit.nickname} and ${receiver.nickname}`.slice(0, 80).trim(),
    note: ledger.note('table'),
    catalogue: {
      radioTypes: [radio.type],
      moduleTypes: [module.type],
      receiverTypes: [receiverType],
      connectors: [connector],
      pairings: [],
    },
    radios: [radio.unit],
    modules: [module.unit],
    receivers: [receiver],
    ...table,
    cards: [radio.card],
    sensors: [],
    images,
  } satisfies Bench)
  if (!checked.ok) throw new ProblemError(checked.problems[0])
  return { bench: checked.value, receiverId: IDS.receiver, route, assumed: ledger.assumed, open: ledger.open }
}

export const radioName = (answers: Answers): string => readName(answers.radioName) ?? 'My radio'

export function receiverName(answers: Answers): string {
  const said = [readName(answers.receiverMaker), readName(answers.receiverName)].filter(s => s !== undefined)
  return said.length === 0 ? 'My receiver' : said.join(' ').slice(0, 80).trim()
}

const connector: Bench['catalogue']['connectors'][number] = {
  id: CONNECTOR_ID,
  name: 'Three-pin plug',
  keyed: 'unknown',
  pins: [
    { name: 'S', role: 'signal' },
    { name: '+', role: 'positive' },
    { name: '-', role: 'negative' },
  ],
}

/** Where one end's band is not known, the other's is the best guess; where neither is, the commonest. */
function bandsFrom(answers: Answers, ledger: Ledger): { module: Band; receiver: Band } {
  const { moduleBand, receiverBand } = answers
  const common: Band = '2.4GHz'
  const module = moduleBand ?? receiverBand ?? common
  const receiver = receiverBand ?? moduleBand ?? common
  const from = (other: Band | null | undefined, end: string) => (other ? `as the ${end}` : 'the commonest')
  if (!moduleBand) ledger.assume('module', 'Band', sayBand(module), from(receiverBand, 'receiver'))
  if (!receiverBand) ledger.assume('receiver', 'Band', sayBand(receiver), from(moduleBand, 'module'))
  return { module, receiver }
}

export const sayBand = (band: Band): string => band.replace('GHz', ' GHz').replace('MHz', ' MHz')

function radioFrom(answers: Answers, ledger: Ledger) {
  const inside = answers.storage === 'inside'
  ledger.orAssume(answers.storage, 'card', 'radio', 'Card', 'there is one')
  ledger.assume(
    'radio',
    inside ? 'Storage in the radio' : 'Free on the card',
    inside ? '64 MiB free' : '1 GiB',
  )
  ledger.assume('radio', 'Battery', 'two cells, charged to 7.9 V; the radio switches off below 6.2 V')
  ledger.assume(
    'radio',
    'Update port',
    '5 V, up to 500 mA',
    'if yours gives no power, feed the receiver otherwise',
  )
  const bay = answers.modulePlace ?? 'internal'
  const type: RadioType = {
    id: IDS.radioType,
    maker: 'Maker not known',
    name: radioName(answers),
    note: ledger.note('radio'),
    bays: [bay],
    storage: {
      internal: inside,
      card: !inside,
      reachedBy: ledger.orOpen<never>(undefined, 'radio', 'How a computer reaches its storage'),
    },
    updatePort: { connectorId: CONNECTOR_ID, supplyVolts: 5, limitMilliamps: 500, sourceOhms: 0.35 },
    battery: {
      cells: 2,
      fullVolts: 8.4,
      updateMinVolts: ledger.orOpen<number>(undefined, 'radio', 'From which voltage it starts an update'),
      cutOffVolts: 6.2,
      internalOhms: 0.12,
    },
  }
  const unit: Bench['radios'][number] = {
    id: IDS.radio,
    nickname: radioName(answers),
    typeId: IDS.radioType,
    systemVersion: ledger.orOpen<string>(undefined, 'radio', 'Version of its system'),
    batteryVolts: 7.9,
    moduleIds: [IDS.module],
    cardId: IDS.card,
  }
  const mebibyte = 1024 * 1024
  const card: Bench['cards'][number] = {
    id: IDS.card,
    nickname: inside ? 'Storage in the radio' : 'Card in the radio',
    capacityBytes: (inside ? 128 : 4096) * mebibyte,
    freeBytes: (inside ? 64 : 1024) * mebibyte,
    clusterBytes: 4096,
    readOnly: false,
    writeBytesPerSecond: 2_000_000,
    folder: 'IMAGES',
  }
  return { type, unit, card }
}

function moduleFrom(answers: Answers, band: Band, ledger: Ledger) {
  const bay = ledger.orAssume(answers.modulePlace, 'internal', 'module', 'Place', 'inside the radio')
  ledger.assume('module', 'Link', 'the same as the receiver’s')
  ledger.assume('module', 'Transmits', 'with 18 dBm into an antenna of 2 dBi')
  ledger.assume('module', 'Current', '250 mA')
  ledger.assume('module', 'Switched', 'on')
  const type: ModuleType = {
    id: IDS.moduleType,
    maker: 'Maker not known',
    name: bay === 'internal' ? 'Module inside' : 'Module outside',
    note: ledger.note('module'),
    family: FAMILY,
    bay,
    bands: [band],
    generations: ledger.orOpen<number[]>(undefined, 'module', 'Which generations it can transmit'),
    wirelessUpdate: ledger.orOpen<boolean>(undefined, 'module', 'Whether it carries updates by air'),
    powerDbm: 18,
    antennaGainDbi: 2,
    drawMilliamps: 250,
  }
  const unit: Bench['modules'][number] = {
    id: IDS.module,
    nickname: bay === 'internal' ? 'Module in the radio' : 'Module at the back',
    typeId: IDS.moduleType,
    firmware: ledger.orOpen(readVersion(answers.moduleFirmware), 'module', 'Firmware'),
    region: ledger.orOpen<'lbt'>(undefined, 'module', 'Region'),
    on: true,
    band,
    generation: ledger.orOpen<number>(undefined, 'module', 'Which generation it is set for'),
  }
  return { type, unit }
}

/** What feeds the receiver, the cable, how far apart things lie, and the model around it. */
function tableFrom(
  answers: Answers,
  route: Route,
  type: ReceiverType,
  ledger: Ledger,
): Pick<Bench, 'supplies' | 'cables' | 'adapters' | 'models' | 'wiring'> {
  const { leastVolts, mostVolts } = type.supply
  const known = answers.feed === 'own-supply' ? readVolts(answers.feedVolts) : undefined
  const volts = known ?? Math.min(mostVolts, Math.max(leastVolts, 5))
  const feed: Wiring['cableFeed'] = answers.feed ?? (route === 'cable' ? 'through-cable' : 'own-supply')
  if (!answers.feed)
    ledger.assume(
      'table',
      'Fed',
      feed === 'through-cable' ? 'through the update cable and by nothing else' : 'by a supply of its own',
    )
  const uses = route === 'wireless' || feed === 'own-supply'
  if (uses && known === undefined) ledger.assume('table', 'Its supply', `${volts} V`)
  if (uses) ledger.assume('table', 'Its supply gives', 'up to 3 A through 0.1 Ω')
  if (route === 'cable') ledger.assume('table', 'Update cable', '30 cm, 26 AWG, wires straight through')
  if (route === 'wireless') ledger.assume('table', 'Distance', '2 m from the radio')
  ledger.assume('table', 'Sensors on the receiver', 'none')
  return {
    supplies: [
      {
        id: IDS.supply,
        nickname: 'Supply of the receiver',
        kind: 'pack',
        volts,
        internalOhms: 0.1,
        limitMilliamps: 3000,
      },
    ],
    cables: [straightCable],
    adapters: [],
    models: modelsFrom(answers, ledger),
    wiring: { cableId: IDS.cable, cableFeed: feed, benchSupplyId: IDS.supply, distanceMetres: 2 },
  }
}

const straightCable: Bench['cables'][number] = {
  id: IDS.cable,
  nickname: 'Update cable',
  lengthMetres: 0.3,
  awg: 26,
  wires: (['signal', 'positive', 'negative'] as const).map(role => ({ from: role, to: role })),
}

function modelsFrom(answers: Answers, ledger: Ledger): Model[] {
  if (answers.model === 'none') return []
  const propellerOrRotor = ledger.orAssume(
    answers.model && answers.model === 'propeller',
    true,
    'table',
    'In a model',
    'yes, with a propeller',
    'the case that calls for most care',
  )
  ledger.assume('table', 'Kind of model', propellerOrRotor ? 'aeroplane' : 'glider')
  ledger.assume('table', 'Servos', '4')
  return [
    {
      id: IDS.model,
      name: 'My model',
      kind: propellerOrRotor ? 'aeroplane' : 'glider',
      radioId: IDS.radio,
      moduleId: IDS.module,
      receiverIds: [IDS.receiver],
      supplyId: IDS.supply,
      servos: 4,
      propellerOrRotor,
    },
  ]
}

/** Newer than what the receiver runs, or it would be refused as old. */
function practiceImage(type: ReceiverType, firmware: string): BuiltImage {
  const [major, minor] = firmware === 'unknown' ? [1, 0] : firmware.split('.').map(Number)
  const next = Math.min(minor + 1, 65_535)
  return {
    id: 'practice',
    name: 'Practice image',
    typeId: type.id,
    version: `${major}.${next}.0`,
    sequenceNumber: 2,
    generation: type.nativeGeneration === 'unknown' ? 1 : type.nativeGeneration,
    bands: type.bands,
    region: 'any',
    hardwareRevisions: 'any',
    wirelessCapable: 'unknown',
    sizeBytes: 48 * 1024,
    releaseNotes:
      'Built by Preflash to rehearse with. It is no firmware and does nothing on a real receiver.',
  }
}
