import { around, type Bench, findType } from '../../../shared/model/bench.ts'
import type { ModuleType, RadioType, ReceiverType } from '../../../shared/model/catalogue.ts'
import { isKnown, type Known, type Route, regionWords } from '../../../shared/model/units.ts'
import type { DeviceId } from '../../../shared/sim/trace.ts'

/** What the diagram says of one device of the bench. */
export interface DeviceWords {
  readonly id: DeviceId
  /** What kind of thing it is. */
  readonly kind: string
  readonly name: string
  /** The line under the name: type, version. */
  readonly line: string
  /** False where the bench has no such thing. */
  readonly present: boolean
  readonly facts: readonly { readonly label: string; readonly value: string }[]
}

const say = (value: Known<string | number>, prefix = ''): string =>
  isKnown(value) ? `${prefix}${value}` : `${prefix}not known`.trim()
const bytes = (n: number): string => (n >= 1e9 ? `${(n / 1e9).toFixed(1)} GB` : `${Math.round(n / 1e6)} MB`)
const absent = (id: DeviceId, kind: string, line: string): DeviceWords => ({
  id,
  kind,
  name: 'None',
  line,
  present: false,
  facts: [],
})

/** All that hangs together with one receiver on one route, in words. */
export function devicesOf(bench: Bench, receiverId: string, route: Route): Map<DeviceId, DeviceWords> {
  const set = around(bench, receiverId)
  const words = [
    radioWords(bench, set),
    cardWords(set),
    moduleWords(bench, set),
    linkWords(bench, set, route),
    receiverWords(bench, set),
    supplyWords(bench, set, route),
    sensorWords(set),
  ]
  return new Map(words.map(device => [device.id, device]))
}

type Around = ReturnType<typeof around>

function radioWords(bench: Bench, { radio }: Around): DeviceWords {
  if (radio === undefined) return absent('radio', 'Radio', 'The bench has no radio')
  const type = findType(bench.catalogue, 'radioTypes', radio.typeId) as RadioType | undefined
  return {
    id: 'radio',
    kind: 'Radio',
    name: radio.nickname,
    line: `${type?.name ?? radio.typeId}, system ${say(radio.systemVersion)}`,
    present: true,
    facts: [
      { label: 'Maker', value: type?.maker ?? 'not known' },
      { label: 'System', value: say(radio.systemVersion) },
      { label: 'Battery', value: `${radio.batteryVolts.toFixed(1)} V` },
      {
        label: 'Starts an update from',
        value:
          type && isKnown(type.battery.updateMinVolts) ? `${type.battery.updateMinVolts} V` : 'not known',
      },
    ],
  }
}

function cardWords({ card }: Around): DeviceWords {
  if (card === undefined) return absent('card', 'Card', 'No card in the radio')
  return {
    id: 'card',
    kind: 'Card',
    name: card.nickname,
    line: `${bytes(card.freeBytes)} free`,
    present: true,
    facts: [
      { label: 'Size', value: bytes(card.capacityBytes) },
      { label: 'Free', value: bytes(card.freeBytes) },
      { label: 'Folder', value: card.folder },
      { label: 'Writable', value: card.readOnly ? 'no' : 'yes' },
    ],
  }
}

function moduleWords(bench: Bench, { module }: Around): DeviceWords {
  if (module === undefined) return absent('module', 'Module', 'No module in the radio')
  const type = findType(bench.catalogue, 'moduleTypes', module.typeId) as ModuleType | undefined
  return {
    id: 'module',
    kind: 'Module',
    name: module.nickname,
    line: `${module.on ? 'firmware' : 'off, firmware'} ${say(module.firmware)}`,
    present: true,
    facts: [
      { label: 'Type', value: type === undefined ? module.typeId : `${type.maker} ${type.name}` },
      { label: 'Firmware', value: say(module.firmware) },
      { label: 'Set to', value: `${module.band}, generation ${say(module.generation)}` },
      { label: 'Air', value: regionWords[module.region] },
      { label: 'Switched', value: module.on ? 'on' : 'off' },
    ],
  }
}

function linkWords(bench: Bench, { cable, module }: Around, route: Route): DeviceWords {
  const { wiring } = bench
  if (route === 'wireless')
    return {
      id: 'air',
      kind: 'Air',
      name: `${wiring.distanceMetres} m through the air`,
      line: module === undefined ? 'no module' : module.band,
      present: true,
      facts: [
        { label: 'Distance', value: `${wiring.distanceMetres} m` },
        { label: 'Band', value: module?.band ?? 'none' },
      ],
    }
  if (cable === undefined) return absent('cable', 'Cable', 'No cable on the bench')
  return {
    id: 'cable',
    kind: 'Cable',
    name: cable.nickname,
    line: `AWG ${cable.awg}, ${cable.wires.length} wires`,
    present: true,
    facts: [
      { label: 'Length', value: `${cable.lengthMetres} m` },
      { label: 'Wire', value: `AWG ${cable.awg}` },
      ...cable.wires.map(w => ({
        label: `Pin ${w.from}`,
        value: w.from === w.to ? 'straight through' : `goes to ${w.to}`,
      })),
    ],
  }
}

function receiverWords(bench: Bench, { receiver, model }: Around): DeviceWords {
  if (receiver === undefined) return absent('receiver', 'Receiver', 'Choose a receiver')
  const type = findType(bench.catalogue, 'receiverTypes', receiver.typeId) as ReceiverType | undefined
  return {
    id: 'receiver',
    kind: 'Receiver',
    name: receiver.nickname,
    line: `${type?.name ?? (isKnown(receiver.typeId) ? receiver.typeId : 'type not known')}, firmware ${say(receiver.firmware)}`,
    present: true,
    facts: [
      { label: 'Type', value: type === undefined ? say(receiver.typeId) : `${type.maker} ${type.name}` },
      { label: 'Firmware', value: say(receiver.firmware) },
      { label: 'Generation', value: say(receiver.generation) },
      { label: 'Hardware', value: say(receiver.hardwareRevision) },
      { label: 'In model', value: model?.name ?? 'none' },
      {
        label: 'Supply it stands',
        value: type ? `${type.supply.leastVolts} to ${type.supply.mostVolts} V` : 'not known',
      },
      { label: 'Resets below', value: type ? `${type.supply.brownOutVolts} V` : 'not known' },
    ],
  }
}

function supplyWords(bench: Bench, { supply, radio }: Around, route: Route): DeviceWords {
  const { cableFeed } = bench.wiring
  const through = route === 'cable' && cableFeed !== 'own-supply'
  const type = radio && (findType(bench.catalogue, 'radioTypes', radio.typeId) as RadioType | undefined)
  const port = type && isKnown(type.updatePort) ? type.updatePort : undefined
  if (through && cableFeed === 'through-cable')
    return {
      id: 'supply',
      kind: 'Supply',
      name: 'Fed through the cable',
      line: port === undefined ? 'port not known' : `${port.supplyVolts} V, up to ${port.limitMilliamps} mA`,
      present: true,
      facts: [
        { label: 'From', value: radio?.nickname ?? 'the radio' },
        { label: 'Voltage', value: port === undefined ? 'not known' : `${port.supplyVolts} V` },
        { label: 'At most', value: port === undefined ? 'not known' : `${port.limitMilliamps} mA` },
      ],
    }
  if (supply === undefined) return absent('supply', 'Supply', 'Nothing feeds the receiver')
  return {
    id: 'supply',
    kind: 'Supply',
    name: supply.nickname,
    line: `${supply.volts} V${through ? ', and the cable too' : ''}`,
    present: true,
    facts: [
      { label: 'Kind', value: supply.kind },
      { label: 'Voltage', value: `${supply.volts} V` },
      { label: 'At most', value: `${supply.limitMilliamps} mA` },
      { label: 'Inner resistance', value: `${supply.internalOhms} ohm` },
    ],
  }
}

function sensorWords({ sensors }: Around): DeviceWords {
  if (sensors.length === 0) return absent('sensor', 'Sensors', 'none on the bus')
  return {
    id: 'sensor',
    kind: 'Sensors',
    name: sensors.length === 1 ? sensors[0].nickname : `${sensors.length} sensors`,
    line: sensors.length === 1 ? `address ${sensors[0].busAddress.toString(16)}` : 'on the telemetry bus',
    present: true,
    facts: sensors.map(s => ({ label: s.nickname, value: `bus address ${s.busAddress.toString(16)} hex` })),
  }
}
