import { antennaKindWords } from '../../shared/model/looks.ts'
import {
  BANDS,
  BAYS,
  choice,
  choices,
  type FieldSpec,
  GENERATIONS,
  group,
  id,
  labels,
  longText,
  note,
  number,
  PIN_ROLES,
  REGIONS,
  range,
  reference,
  rows,
  section,
  source,
  text,
  usual,
  version,
  words,
  yesNo,
} from './field-spec.ts'

/** The fields of types, connectors, pairings and images, each a line of `shared/model/catalogue.ts` or `bench.ts`. */

const makerAndName = [text('maker', 'Maker'), text('name', 'Name of the type')]
const family = text('family', 'Link family', { hint: 'What the maker calls the radio protocol.' })
const remarks = [...source, ...usual(...note, ...id)]

export const radioTypeFields: readonly FieldSpec[] = [
  ...section('What it is', ...makerAndName, choices('bays', 'Module bays', { options: BAYS })),
  ...section(
    'Storage',
    yesNo('storage.internal', 'Has storage of its own'),
    yesNo('storage.card', 'Takes a card'),
    choice('storage.reachedBy', 'A computer reaches it when', {
      notKnown: true,
      options: words({
        'start-in-storage-mode': 'the radio is started in storage mode',
        'choose-when-usb-goes-in': 'storage is chosen as USB goes in',
      }),
    }),
  ),
  ...section(
    'Update port',
    group('updatePort', 'Port for the update cable', {
      notKnown: true,
      blank: { connectorId: '', supplyVolts: 5, limitMilliamps: 500, sourceOhms: 0.3 },
      fields: [
        reference('connectorId', 'Connector', { to: 'connectors' }),
        number('supplyVolts', 'Feeds', { unit: 'V' }),
        number('limitMilliamps', 'At most', { unit: 'mA' }),
        number('sourceOhms', 'Internal resistance', { unit: 'Ω' }),
      ],
    }),
  ),
  ...section(
    'Battery',
    number('battery.cells', 'Cells in series'),
    number('battery.fullVolts', 'Full', { unit: 'V' }),
    number('battery.updateMinVolts', 'Starts an update from', { unit: 'V', notKnown: true }),
    ...usual(
      number('battery.cutOffVolts', 'Switches itself off below', { unit: 'V' }),
      number('battery.internalOhms', 'Internal resistance', { unit: 'Ω' }),
    ),
  ),
  ...remarks,
]

export const moduleTypeFields: readonly FieldSpec[] = [
  ...section('What it is', ...makerAndName, family, choice('bay', 'Goes into the bay', { options: BAYS })),
  ...section(
    'Link',
    choices('bands', 'Bands', { options: BANDS }),
    choices('generations', 'Can transmit generations', {
      options: GENERATIONS,
      notKnown: true,
      hint: 'What the hardware can do. New firmware neither adds to this nor takes from it.',
    }),
    yesNo('wirelessUpdate', 'Can carry an update by air', { notKnown: true }),
    ...usual(
      number('powerDbm', 'Transmits with', { unit: 'dBm' }),
      number('antennaGainDbi', 'Antenna gain', { unit: 'dBi', hint: 'A plain whip has about 2 dBi.' }),
      number('drawMilliamps', 'Draws', { unit: 'mA' }),
    ),
  ),
  ...remarks,
]

const between = (path: string, label: string, unit: string) => [
  number(`${path}.least`, `${label}, least`, { unit }),
  number(`${path}.most`, `${label}, most`, { unit }),
]

const SIGNAL_VOLTS = [3.3, 5].map(n => ({ value: n, word: `${n} V` }))
const DIALECT_HINT = 'Names of dialects, the usual one first, with commas between them: xmodem-1k, ymodem.'

export const receiverTypeFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    ...makerAndName,
    reference('connectorId', 'Connector for the update cable', { to: 'connectors' }),
    ...usual(
      number('channels', 'Channels'),
      labels('hardwareRevisions', 'Hardware revisions', { hint: 'With commas between them: A, B.' }),
    ),
  ),
  ...section(
    'What it looks like',
    group('looks', 'For telling one without markings', {
      optional: true,
      usual: true,
      fields: [
        number('outputs', 'Servo outputs', { notKnown: true }),
        number('antennaCount', 'Antennas', { notKnown: true }),
        choice('antennaKind', 'Kind of antenna', { options: words(antennaKindWords), notKnown: true }),
        number('lengthMillimetres', 'Length of the case', { unit: 'mm', notKnown: true }),
        number('widthMillimetres', 'Width of the case', { unit: 'mm', notKnown: true }),
      ],
    }),
  ),
  ...section(
    'Link',
    family,
    choices('bands', 'Bands', { options: BANDS }),
    choice('nativeGeneration', 'Generation as delivered', { options: GENERATIONS, notKnown: true }),
    rows('conversions', 'Can be converted', {
      usual: true,
      blank: { from: 1, to: 2, oneWay: true, replacesBootLoader: false },
      fields: [
        choice('from', 'From generation', { options: GENERATIONS }),
        choice('to', 'To generation', { options: GENERATIONS }),
        yesNo('oneWay', 'No way back'),
        yesNo('replacesBootLoader', 'Replaces the boot loader too'),
      ],
    }),
  ),
  ...section(
    'Updating',
    yesNo('wirelessUpdate', 'Takes an update by air', { notKnown: true }),
    ...usual(
      version('wirelessFrom', 'By air only from firmware', {
        notKnown: true,
        optional: true,
        hint: 'Firmware older than this needs one update by cable first.',
      }),
      version('boot.version', 'Boot loader', { notKnown: true }),
      yesNo('boot.protected', 'The boot loader is protected from being written over', { notKnown: true }),
      yesNo('boot.notesRomStart', 'Runs on its own after a write by the loader in the chip’s ROM', {
        optional: true,
        hint: 'Without it, its boot loader waits until an update over its bus.',
      }),
      number('boot.settleMs', 'Takes a write after', { unit: 'ms', hint: 'From entering the boot loader.' }),
      number('boot.listenMs', 'Listens after power-on for', { unit: 'ms' }),
    ),
  ),
  ...usual(
    ...section(
      'Program flash',
      number('flash.programAddress', 'Starts at', { hexadecimal: true }),
      number('flash.programBytes', 'Program flash', { unit: 'KiB', scale: 1024 }),
      number('flash.pageBytes', 'Page', { unit: 'octets' }),
      choice('flash.wordBytes', 'Written in words of', {
        options: [2, 4, 8].map(n => ({ value: n, word: `${n} octets` })),
      }),
      ...between('flash.eraseMs', 'Erasing a page', 'ms'),
      ...between('flash.programMicros', 'Writing a word', 'µs'),
      number('flash.enduranceCycles', 'Stands', { unit: 'erasures' }),
    ),
  ),
  ...usual(
    ...section(
      'Telemetry bus',
      number('bus.baud', 'Rate', { unit: 'baud' }),
      choice('bus.signalVolts', 'Signal', { options: SIGNAL_VOLTS }),
      number('bus.toleratesVolts', 'Signal pin stands at most', {
        unit: 'V',
        notKnown: true,
        optional: true,
      }),
      yesNo('bus.inverted', 'Inverted line', { notKnown: true }),
      number('bus.turnaroundMicros', 'Answers after', { unit: 'µs' }),
      labels('bus.dialects', 'Spoken there besides the bus', { optional: true, hint: DIALECT_HINT }),
    ),
  ),
  ...section(
    'Service connector',
    group('service', 'Connector for the boot loader alone', {
      optional: true,
      usual: true,
      fields: [
        reference('connectorId', 'Connector', { to: 'connectors' }),
        labels('dialects', 'Spoken there', { optional: true, hint: DIALECT_HINT }),
        choice('signalVolts', 'Signal', { options: SIGNAL_VOLTS }),
        number('toleratesVolts', 'Data pins stand at most', { unit: 'V', notKnown: true, optional: true }),
        yesNo('inverted', 'Inverted line', { notKnown: true }),
      ],
    }),
  ),
  ...section(
    'Supply',
    number('supply.leastVolts', 'Needs at least', { unit: 'V', hint: 'As the label says.' }),
    number('supply.mostVolts', 'Stands at most', {
      unit: 'V',
      hint: 'As the label says. More than this destroys it.',
    }),
    ...usual(
      number('supply.brownOutVolts', 'Resets below', { unit: 'V' }),
      number('supply.restartVolts', 'Starts again from', { unit: 'V' }),
      number('draw.idleMilliamps', 'Draws when idle', { unit: 'mA' }),
      number('draw.bootMilliamps', 'Draws in the boot loader', { unit: 'mA' }),
      number('draw.flashMilliamps', 'More while writing', { unit: 'mA' }),
      number('draw.radioMilliamps', 'More while its radio works', { unit: 'mA' }),
    ),
  ),
  ...usual(
    ...section(
      'Air',
      number('air.sensitivityDbm', 'Hears down to', { unit: 'dBm' }),
      number('air.overloadDbm', 'Overloaded from', { unit: 'dBm' }),
      number('air.antennaGainDbi', 'Antenna gain', { unit: 'dBi' }),
    ),
  ),
  ...remarks,
]

export const connectorFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    text('name', 'Name'),
    yesNo('keyed', 'Keyed, goes in one way round only', { notKnown: true }),
    rows('pins', 'Pins in order', {
      hint: 'Seen on the mating face with the key up.',
      drawn: 'connector',
      blank: { name: '', role: 'not-used' },
      fields: [text('name', 'Mark'), choice('role', 'Carries', { options: PIN_ROLES })],
    }),
  ),
  ...source,
  ...usual(...id),
]

export const pairingFields: readonly FieldSpec[] = [
  ...section(
    'Which firmware works with which',
    family,
    choice('generation', 'Link generation', { options: GENERATIONS }),
    range('receiverFirmware', 'Receivers with firmware'),
    range('moduleFirmware', 'Need a module with firmware'),
  ),
  ...remarks,
]

export const imageFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    text('name', 'Name'),
    reference('typeId', 'For receivers of type', { to: 'receiverTypes' }),
    version('version', 'Version'),
    number('sequenceNumber', 'Sequence number', { hint: 'Goes up with every image of the type. RFC 9124.' }),
    number('sizeBytes', 'Size', { unit: 'KiB', scale: 1024 }),
    longText('releaseNotes', 'What is new'),
  ),
  ...section(
    'What it is for',
    choice('generation', 'Link generation', { options: GENERATIONS }),
    choice('convertsFrom', 'Converts from generation', { options: GENERATIONS, optional: true }),
    choices('bands', 'Bands', { options: BANDS }),
    choice('region', 'Shares the air by', { options: REGIONS, any: true }),
    labels('hardwareRevisions', 'Hardware revisions', { any: true, hint: 'With commas between them: A, B.' }),
    yesNo('wirelessCapable', 'May be sent by air', { notKnown: true }),
    range('moduleFirmware', 'Needs module firmware', { optional: true }),
    range('radioSystem', 'Needs radio system', { optional: true }),
    range('receiverFirmware', 'Goes on receiver firmware', { optional: true }),
  ),
  ...id,
]
