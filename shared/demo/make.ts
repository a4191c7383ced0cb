import type { AdapterUnit, CableUnit, Model, PinWire, ReceiverUnit } from '../model/gear.ts'

/** What the types and units of the demo have in common. */

export const invented = { text: 'Invented for the demo bench.' }
export const receiverAir = { sensitivityDbm: -99, overloadDbm: -10, antennaGainDbi: 0 }

export const receiver = (
  id: string,
  typeId: string,
  nickname: string,
  rest: Partial<ReceiverUnit> & Pick<ReceiverUnit, 'firmware' | 'generation' | 'hardwareRevision'>,
): ReceiverUnit => ({ id, typeId, nickname, region: 'lbt', factoryFresh: false, ...rest })

export const model = (
  id: string,
  name: string,
  kind: Model['kind'],
  radioId: string,
  moduleId: string,
  receiverIds: string[],
  supplyId: string,
  servos: number,
  propellerOrRotor = true,
): Model => ({ id, name, kind, radioId, moduleId, receiverIds, supplyId, servos, propellerOrRotor })

/** Ground, supply, sends, hears: the pins of an adapter in order. */
export const programmerPins: AdapterUnit['pins'] = [
  { name: 'GND', role: 'ground' },
  { name: 'VCC', role: 'supply' },
  { name: 'TXD', role: 'transmit' },
  { name: 'RXD', role: 'receive' },
]

/** From an adapter's pins to the three of the receiver's plug: 1 signal, 2 positive, 3 negative. */
export const programmerCable = (id: string, nickname: string, pinWires: PinWire[]): CableUnit => ({
  id,
  nickname,
  lengthMetres: 0.3,
  awg: 26,
  wires: [],
  pinWires,
  plugKeyed: true,
})
