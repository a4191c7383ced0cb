import { type PortPlace, placeText } from './port.ts'
import type { UsbFacts } from './system-ports.ts'

/** By what a name that a person gives is found again. */
export interface Identity {
  readonly key: string
  readonly sticksTo: 'adapter' | 'socket' | 'path' | 'address'
}

export const sticksToWords: Readonly<Record<Identity['sticksTo'], string>> = {
  adapter: 'The name stays with this adapter, wherever it is plugged in.',
  socket: 'This adapter has no serial number of its own, so the name stays with the USB socket.',
  path: 'The name stays with this port of the computer.',
  address: 'The name stays with this address.',
}

/** An adapter with several ports has one serial number for all of them. */
const portOf = ({ interfaceNumber }: UsbFacts): string =>
  interfaceNumber === undefined || interfaceNumber === '00' ? '' : `#${interfaceNumber}`

const adapterKey = (usb: UsbFacts): string | undefined =>
  usb.serialNumber === undefined
    ? undefined
    : `usb:${usb.vendorId}:${usb.productId}:${usb.serialNumber}${portOf(usb)}`

/**
 * @param others all ports that are there: cheap adapters are made with one serial number for all of them, and a name
 * must not stick to two
 */
export function identityOf(
  place: PortPlace,
  usb: UsbFacts | undefined,
  others: readonly (UsbFacts | undefined)[],
): Identity {
  const key = usb && adapterKey(usb)
  if (key !== undefined && others.filter(o => o && adapterKey(o) === key).length <= 1)
    return { key, sticksTo: 'adapter' }
  if (usb?.socket !== undefined)
    return {
      key: `socket:${usb.socket}:${usb.vendorId}:${usb.productId}${portOf(usb)}`,
      sticksTo: 'socket',
    }
  if (place.kind === 'rfc2217') return { key: `server:${placeText(place)}`, sticksTo: 'address' }
  return { key: `path:${place.path}`, sticksTo: 'path' }
}
