import { OPTION, parametersOctets } from './telnet.ts'

/** The octets of RFC 2217, "Telnet Com Port Control Option" (1997), as a client sends and hears them. */

/** Section 2 and 3: what the client says; the server confirms each with the same number and 100 more. */
export const COM_PORT = {
  signature: 0,
  setBaudRate: 1,
  setDataSize: 2,
  setParity: 3,
  setStopSize: 4,
  setControl: 5,
  notifyLineState: 6,
  notifyModemState: 7,
  flowControlSuspend: 8,
  flowControlResume: 9,
  setLineStateMask: 10,
  setModemStateMask: 11,
  purgeData: 12,
} as const
export const FROM_SERVER = 100

export const PARITY_VALUE = { none: 1, odd: 2, even: 3 } as const
export const STOP_SIZE_VALUE = { 1: 1, 2: 2 } as const
export const CONTROL_VALUE = {
  noFlowControl: 1,
  breakOn: 5,
  breakOff: 6,
  dtrOn: 8,
  dtrOff: 9,
  rtsOn: 11,
  rtsOff: 12,
} as const
export const PURGE_VALUE = { received: 1, toBeSent: 2, both: 3 } as const

/** Section 4: the modem lines as the port of the server sees them. */
export interface ModemState {
  readonly carrierDetect: boolean
  readonly ring: boolean
  readonly dataSetReady: boolean
  readonly clearToSend: boolean
}
const MODEM_BIT = { carrierDetect: 128, ring: 64, dataSetReady: 32, clearToSend: 16 } as const

/** A command with a value of one octet. */
export const commandOctets = (command: number, value: number): Uint8Array =>
  parametersOctets(OPTION.comPort, Uint8Array.of(command, value))

/** @param baud 1 to 4294967295; four octets, most significant first */
export function baudOctets(baud: number): Uint8Array {
  const octets = new Uint8Array(5)
  octets[0] = COM_PORT.setBaudRate
  new DataView(octets.buffer).setUint32(1, baud)
  return parametersOctets(OPTION.comPort, octets)
}

/** What a server says, as far as a client makes use of it. */
export type ServerSays =
  /** `command` is the client's number of it; the value is what is in force now. */
  | { readonly says: 'confirmed'; readonly command: number; readonly value: number | undefined }
  | { readonly says: 'modem-state'; readonly state: ModemState }
  | { readonly says: 'suspend' | 'resume' }
  | { readonly says: 'other' }

/** @param octets the parameters of the option, from anybody: nothing in them is an error */
export function readServer(octets: Uint8Array): ServerSays {
  const command = octets.length > 0 ? octets[0] - FROM_SERVER : -1
  const value = octets.length > 1 ? octets[1] : undefined
  switch (command) {
    case COM_PORT.setBaudRate:
      return { says: 'confirmed', command, value: readBaud(octets) }
    case COM_PORT.notifyModemState:
      return value === undefined ? { says: 'other' } : { says: 'modem-state', state: modemState(value) }
    case COM_PORT.flowControlSuspend:
      return { says: 'suspend' }
    case COM_PORT.flowControlResume:
      return { says: 'resume' }
    case COM_PORT.setDataSize:
    case COM_PORT.setParity:
    case COM_PORT.setStopSize:
    case COM_PORT.setControl:
    case COM_PORT.setModemStateMask:
    case COM_PORT.purgeData:
      return { says: 'confirmed', command, value }
    default:
      return { says: 'other' }
  }
}

/** Some servers say more octets than four after the rate; the first four count. */
function readBaud(octets: Uint8Array): number | undefined {
  if (octets.length < 5) return undefined
  return new DataView(octets.buffer, octets.byteOffset, octets.byteLength).getUint32(1)
}

const modemState = (value: number): ModemState => ({
  carrierDetect: (value & MODEM_BIT.carrierDetect) !== 0,
  ring: (value & MODEM_BIT.ring) !== 0,
  dataSetReady: (value & MODEM_BIT.dataSetReady) !== 0,
  clearToSend: (value & MODEM_BIT.clearToSend) !== 0,
})
