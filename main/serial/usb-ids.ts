/**
 * USB serial adapters by the ids that they give themselves, named as in the public list of USB ids (usb.ids,
 * 2025.07.26). An id says which chip does the talking, never which receiver is behind it.
 */
export interface KnownAdapter {
  /** Four hexadecimal digits each, small letters. */
  readonly vendorId: string
  readonly productId: string
  /** Maker and chip, short enough for a list. */
  readonly name: string
  /** The chip is a serial port and nothing else; otherwise what it can do depends on the program inside it. */
  readonly isBridge: boolean
}

const FTDI = '0403'
const SILICON_LABS = '10c4'
const QINHENG = '1a86'
const PROLIFIC = '067b'
const ST = '0483'
const MICROCHIP = '04d8'

const bridge = (vendorId: string, productId: string, name: string): KnownAdapter => ({
  ...{ vendorId, productId, name },
  isBridge: true,
})

export const KNOWN_ADAPTERS: readonly KnownAdapter[] = [
  bridge(FTDI, '6001', 'Future Technology Devices FT232'),
  bridge(FTDI, '6010', 'Future Technology Devices FT2232, two ports'),
  bridge(FTDI, '6011', 'Future Technology Devices FT4232H, four ports'),
  bridge(FTDI, '6014', 'Future Technology Devices FT232H'),
  bridge(FTDI, '6015', 'Future Technology Devices bridge (FT-X series)'),
  bridge(SILICON_LABS, 'ea60', 'Silicon Labs CP210x'),
  bridge(SILICON_LABS, 'ea70', 'Silicon Labs CP2105, two ports'),
  bridge(SILICON_LABS, 'ea71', 'Silicon Labs CP2108, four ports'),
  bridge(QINHENG, '7523', 'QinHeng CH340'),
  bridge(QINHENG, '5523', 'QinHeng CH341'),
  bridge(PROLIFIC, '2303', 'Prolific PL2303'),
  bridge(PROLIFIC, '23a3', 'Prolific ATEN serial bridge'),
  bridge(MICROCHIP, '00dd', 'Microchip MCP2221'),
  { vendorId: ST, productId: '5740', name: 'STMicroelectronics virtual COM port', isBridge: false },
]

/** @returns undefined for an adapter that is not in the list, which is nothing wrong */
export function knownAdapter(vendorId: string, productId: string): KnownAdapter | undefined {
  const [vendor, product] = [vendorId.toLowerCase(), productId.toLowerCase()]
  return KNOWN_ADAPTERS.find(a => a.vendorId === vendor && a.productId === product)
}

/** What such an adapter can do, in words; that of a bridge is common practice, no source. */
export const abilityText = (adapter: KnownAdapter | undefined): string =>
  adapter?.isBridge
    ? 'any usual rate and parity, control lines DTR and RTS, break'
    : adapter
      ? 'what the program inside it allows'
      : 'not known'
