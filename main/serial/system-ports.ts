import { readdir, readFile, realpath } from 'node:fs/promises'
import { dirname, join, sep } from 'node:path'

/** What the system says of its serial ports. */

export interface UsbFacts {
  /** Four hexadecimal digits each, small letters. */
  readonly vendorId: string
  readonly productId: string
  readonly serialNumber?: string | undefined
  /** What the adapter calls its maker and itself. */
  readonly manufacturer?: string | undefined
  readonly product?: string | undefined
  /** Which of several ports of one adapter, `00`, `01`, …; not known on every system. */
  readonly interfaceNumber?: string | undefined
  /** The socket that it is plugged into, as the system counts them. */
  readonly socket?: string | undefined
}

export interface SystemPort {
  readonly path: string
  /** Undefined for a port on the board. */
  readonly usb: UsbFacts | undefined
}

/** Texts come from the adapter: they are kept short and without control characters. */
const clean = (text: string | undefined): string | undefined => {
  const printable = text?.replaceAll(/[\p{C}]+/gu, ' ').trim()
  return printable ? printable.slice(0, 120) : undefined
}
const hex4 = (text: string | undefined): string | undefined =>
  text !== undefined && /^[0-9a-f]{4}$/i.test(text.trim()) ? text.trim().toLowerCase() : undefined

/**
 * The ports of this computer. On Linux they are read from /sys, which needs no other program; elsewhere the binding
 * knows them. Never rejects: what cannot be asked is not there.
 */
export async function systemPorts(platform: NodeJS.Platform = process.platform): Promise<SystemPort[]> {
  if (platform === 'linux') return linuxPorts()
  try {
    const { autoDetect } = await import('@serialport/bindings-cpp')
    const listed = (await autoDetect().list()) as readonly BindingPort[]
    return listed.map(fromBinding)
  } catch {
    return []
  }
}

interface BindingPort {
  readonly path: string
  readonly manufacturer?: string | undefined
  readonly serialNumber?: string | undefined
  readonly locationId?: string | undefined
  readonly vendorId?: string | undefined
  readonly productId?: string | undefined
}

/** A port as the binding lists it on Windows and macOS. */
export function fromBinding(port: BindingPort): SystemPort {
  const [vendorId, productId] = [hex4(port.vendorId), hex4(port.productId)]
  if (vendorId === undefined || productId === undefined) return { path: port.path, usb: undefined }
  return {
    path: port.path,
    usb: {
      ...{ vendorId, productId },
      serialNumber: clean(port.serialNumber),
      manufacturer: clean(port.manufacturer),
      socket: clean(port.locationId),
    },
  }
}

/** The names of all terminals that are on a device: cheap enough to be looked at every second. */
export async function linuxNames(sys = '/sys'): Promise<string[]> {
  const names = await readdir(join(sys, 'class/tty')).catch(() => [] as string[])
  return names.filter(name => !/^(?:tty\d*|console|ptmx|pty.*)$/.test(name)).sort()
}

/** @param sys where the kernel shows its devices */
export async function linuxPorts(sys = '/sys'): Promise<SystemPort[]> {
  const ports = await Promise.all((await linuxNames(sys)).map(name => linuxPort(sys, name)))
  return ports.filter(port => port !== undefined)
}

async function linuxPort(sys: string, name: string): Promise<SystemPort | undefined> {
  const folder = join(sys, 'class/tty', name)
  const device = await realpath(join(folder, 'device')).catch(() => undefined)
  if (device === undefined || !(await hasHardware(folder))) return undefined
  return { path: `/dev/${name}`, usb: await usbAbove(device, await realpath(sys).catch(() => sys)) }
}

/** Of a board's ports the kernel keeps places for some that are not there: their kind is 0, unknown. */
async function hasHardware(folder: string): Promise<boolean> {
  const type = await readFile(join(folder, 'type'), 'utf8').catch(() => undefined)
  return type === undefined || type.trim() !== '0'
}

/** The USB device that a port belongs to is some folders above it. */
async function usbAbove(device: string, sys: string): Promise<UsbFacts | undefined> {
  let interfaceNumber: string | undefined
  for (let folder = device; folder.startsWith(sys + sep); folder = dirname(folder)) {
    const read = (name: string) => readFile(join(folder, name), 'utf8').catch(() => undefined)
    interfaceNumber ??= clean(await read('bInterfaceNumber'))
    const [vendorId, productId] = [hex4(await read('idVendor')), hex4(await read('idProduct'))]
    if (vendorId === undefined || productId === undefined) continue
    return {
      ...{ vendorId, productId, interfaceNumber },
      serialNumber: clean(await read('serial')),
      manufacturer: clean(await read('manufacturer')),
      product: clean(await read('product')),
      socket: folder.slice(folder.lastIndexOf(sep) + 1),
    }
  }
  return undefined
}
