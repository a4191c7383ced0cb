import { antennaKindWords, antennaTipWords } from '../../shared/model/looks.ts'
import {
  BANDS,
  choice,
  type FieldSpec,
  GENERATIONS,
  group,
  id,
  longText,
  note,
  number,
  REGIONS,
  ROLES,
  reference,
  references,
  rows,
  section,
  text,
  version,
  words,
  yesNo,
} from './field-spec.ts'

/** The fields of what lies on the table, each a line of `shared/model/gear.ts`. */

const nickname = text('nickname', 'Name', { hint: 'What you call this one piece.' })

const seenGroup = group('seen', 'Where no label says the type', {
  optional: true,
  usual: true,
  fields: [
    number('outputs', 'Servo outputs', { notKnown: true }),
    number('antennaCount', 'Antennas', { notKnown: true }),
    choice('antennaKind', 'Kind of antenna', { options: words(antennaKindWords), notKnown: true }),
    choice('antennaTip', 'Bared end', { options: words(antennaTipWords), notKnown: true }),
    number('lengthMillimetres', 'Length of the case', { unit: 'mm', notKnown: true }),
    number('withinMillimetres', 'Give or take', { unit: 'mm' }),
    reference('connectorId', 'Connector', { to: 'connectors', notKnown: true }),
    choice('band', 'Band', { options: BANDS, notKnown: true }),
  ],
})

export const receiverFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    reference('typeId', 'Type', {
      to: 'receiverTypes',
      notKnown: true,
      hint: 'No markings? Choose “not known”: the Firmware view finds it out with you.',
    }),
    text('hardwareRevision', 'Hardware revision', {
      notKnown: true,
      hint: 'Printed on the label or the circuit board.',
    }),
    version('firmware', 'Firmware', { notKnown: true }),
    choice('generation', 'Link generation', { options: GENERATIONS, notKnown: true }),
    choice('region', 'Shares the air by', { options: REGIONS, notKnown: true }),
    reference('boundTo', 'Bound to module', { to: 'modules', optional: true }),
    yesNo('factoryFresh', 'Never updated since it left the factory'),
  ),
  ...section('What can be seen of it', seenGroup),
  ...note,
  ...id,
]

export const moduleFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    reference('typeId', 'Type', { to: 'moduleTypes' }),
    version('firmware', 'Firmware', { notKnown: true }),
    choice('region', 'Shares the air by', { options: REGIONS, notKnown: true }),
  ),
  ...section(
    'How it is set',
    yesNo('on', 'Switched on'),
    choice('band', 'Band', { options: BANDS }),
    choice('generation', 'Set for generation', { options: GENERATIONS, notKnown: true }),
  ),
  ...note,
  ...id,
]

export const radioFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    reference('typeId', 'Type', { to: 'radioTypes' }),
    version('systemVersion', 'Radio system', { notKnown: true }),
    number('batteryVolts', 'Battery now', { unit: 'V', hint: 'As the radio shows it.' }),
  ),
  ...section(
    'What is in it',
    references('moduleIds', 'Modules', { to: 'modules', hint: 'At most four.' }),
    reference('cardId', 'Card', { to: 'cards', optional: true }),
  ),
  ...note,
  ...id,
]

export const supplyFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    choice('kind', 'Kind', { options: words({ pack: 'battery pack', regulator: 'regulator', usb: 'USB' }) }),
    number('volts', 'Voltage without load', { unit: 'V' }),
    number('internalOhms', 'Internal resistance', {
      unit: 'Ω',
      hint: 'A sound small pack has 0.05 to 0.2 Ω.',
    }),
    number('limitMilliamps', 'Gives at most', { unit: 'mA' }),
  ),
  ...note,
  ...id,
]

export const cableFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    number('lengthMetres', 'Length', { unit: 'm' }),
    number('awg', 'Wire gauge', { unit: 'AWG', hint: 'Servo leads are 22 to 28. ASTM B258.' }),
    rows('wires', 'Wires', {
      hint: 'Check each wire with a continuity tester: a swapped supply destroys a receiver.',
      blank: { from: 'signal', to: 'signal' },
      fields: [
        choice('from', 'At the radio', { options: ROLES }),
        choice('to', 'At the receiver', { options: ROLES }),
      ],
    }),
  ),
  ...section(
    'For a USB serial adapter',
    rows('pinWires', 'Wires from pin to pin', {
      optional: true,
      hint: 'Pins are counted from 1. A diode has its ring at the adapter’s end.',
      blank: { from: 1, to: 1, through: 'wire' },
      fields: [
        number('from', 'Pin of the adapter'),
        number('to', 'Pin of the receiver'),
        choice('through', 'Through', {
          options: words({ wire: 'a plain wire', resistor: 'a resistor', diode: 'a diode' }),
        }),
        number('ohms', 'Of the resistor', { unit: 'Ω', optional: true }),
      ],
    }),
    yesNo('plugKeyed', 'The plug at the receiver goes in one way only', { notKnown: true, optional: true }),
  ),
  ...note,
  ...id,
]

export const adapterFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    text('portKey', 'Recognised by', {
      optional: true,
      hint: 'Set when the adapter is chosen among the ports.',
    }),
  ),
  ...section(
    'Its pins',
    rows('pins', 'Pins in order', {
      hint: 'As printed beside its connector. Look twice: a wrong supply pin destroys a receiver.',
      blank: { name: '', role: 'not-used' },
      fields: [
        text('name', 'Mark'),
        choice('role', 'Carries', {
          options: words({
            ground: 'ground',
            supply: 'supply',
            transmit: 'sends (TX)',
            receive: 'hears (RX)',
            'single-wire': 'sends and hears',
            dtr: 'DTR',
            rts: 'RTS',
            'not-used': 'not used',
          }),
        }),
      ],
    }),
    yesNo('keyed', 'Its plug goes in one way only', { notKnown: true }),
  ),
  ...section(
    'Its levels',
    choice('signalVolts', 'Data pins give', {
      notKnown: true,
      options: [1.8, 3.3, 5].map(value => ({ value, word: `${value} V` })),
      hint: 'Some adapters have a jumper for it. A voltmeter at TX shows it while nothing is sent.',
    }),
    number('toleratesVolts', 'Data pins stand at most', { unit: 'V', notKnown: true }),
    yesNo('inverts', 'Its lines are inverted', {
      notKnown: true,
      hint: 'An adapter from the shop is not, unless somebody set it so.',
    }),
  ),
  ...section(
    'Its supply pin',
    group('supply', 'What it gives; left empty, it gives nothing', {
      notKnown: true,
      optional: true,
      fields: [
        number('volts', 'Voltage without load', { unit: 'V' }),
        number('limitMilliamps', 'At most', { unit: 'mA' }),
        number('sourceOhms', 'Internal resistance', { unit: 'Ω' }),
      ],
    }),
  ),
  ...note,
  ...id,
]

const MB = { unit: 'MB', scale: 1_000_000 }

export const cardFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    number('capacityBytes', 'Holds', MB),
    number('freeBytes', 'Free', MB),
    number('clusterBytes', 'Cluster size', {
      unit: 'octets',
      hint: 'What the smallest file takes; often 4096 or 32768.',
    }),
    number('writeBytesPerSecond', 'Writes', { unit: 'kB/s', scale: 1000 }),
    text('folder', 'Folder for images'),
    yesNo('readOnly', 'Read only', { hint: 'Look at the slide on its edge.' }),
  ),
  ...note,
  ...id,
]

export const sensorFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    nickname,
    reference('receiverId', 'On the telemetry bus of', { to: 'receivers' }),
    number('busAddress', 'Address on the bus', { hexadecimal: true, hint: 'From 0x20 to 0x3F.' }),
    number('replyOctets', 'Length of its answer', { unit: 'octets' }),
  ),
  ...id,
]

export const modelFields: readonly FieldSpec[] = [
  ...section(
    'What it is',
    text('name', 'Name'),
    choice('kind', 'Kind', {
      options: words({
        aeroplane: 'aeroplane',
        glider: 'glider',
        helicopter: 'helicopter',
        multirotor: 'multirotor',
        boat: 'boat',
        car: 'car',
      }),
    }),
    number('servos', 'Servos'),
    yesNo('propellerOrRotor', 'Has a propeller or rotor', {
      hint: 'Where it has one, every update starts with taking it off or disconnecting the drive.',
    }),
  ),
  ...section(
    'What is in it and what flies it',
    references('receiverIds', 'Receivers', { to: 'receivers', hint: 'One to four.' }),
    reference('supplyId', 'Supply', { to: 'supplies' }),
    reference('radioId', 'Radio', { to: 'radios' }),
    reference('moduleId', 'Module', { to: 'modules' }),
  ),
  ...note,
  ...id,
]

export const benchFields: readonly FieldSpec[] = [
  ...section('This bench', text('name', 'Name'), longText('note', 'Note', { optional: true })),
  ...section(
    'Wiring for an update',
    reference('wiring.cableId', 'Update cable', { to: 'cables', optional: true }),
    choice('wiring.cableFeed', 'The receiver is fed', {
      options: words({
        'through-cable': 'by the radio, through the cable',
        'own-supply': 'by a supply of its own',
        both: 'by both at once',
      }),
      hint: 'A receiver that the cable feeds must not get a second supply.',
    }),
    reference('wiring.benchSupplyId', 'Supply for a receiver in no model', {
      to: 'supplies',
      optional: true,
    }),
    number('wiring.distanceMetres', 'Radio and receiver lie apart', { unit: 'm' }),
  ),
]
