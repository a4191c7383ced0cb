import { readFile, realpath } from 'node:fs/promises'
import { basename } from 'node:path'

/**
 * How long an adapter may keep what it has heard before it hands it over. A time-out that does not allow for it
 * misfires (FTDI AN232B-04, 2006, "Small amounts of data": a partly filled packet waits for the latency timer).
 */
export interface Latency {
  readonly ms: number
  /** Where the figure is from, in words. */
  readonly from: string
}

/** FTDI AN232B-04: the timer's default. */
export const FTDI_DEFAULT_MS = 16
const FTDI_VENDOR = '0403'

const NONE: Latency = { ms: 0, from: 'no adapter in between' }
const CAUTIOUS: Latency = {
  ms: FTDI_DEFAULT_MS,
  from: 'not known for this adapter; the largest usual value is allowed for',
}

/** What Linux says of a port's latency timer, which the drivers of some adapters have. */
async function fromSystem(sys: string, name: string): Promise<Latency | undefined> {
  try {
    const text = await readFile(`${sys}/class/tty/${name}/device/latency_timer`, 'utf8')
    const ms = Number(text.trim())
    return Number.isInteger(ms) && ms >= 0 && ms <= 255 ? { ms, from: 'read from the driver' } : undefined
  } catch {
    return undefined
  }
}

/**
 * The latency of a port of this computer. Never rejects.
 * @param vendorId of the USB adapter, four hexadecimal digits, where it is known
 * @param sys where the kernel of Linux shows its devices
 */
export async function latencyOf(path: string, vendorId?: string, sys = '/sys'): Promise<Latency> {
  const real = await realpath(path).catch(() => path)
  if (/^\/dev\/pts\/\d+$/.test(real)) return NONE
  const read = process.platform === 'linux' ? await fromSystem(sys, basename(real)) : undefined
  if (read !== undefined) return read
  if (vendorId?.toLowerCase() === FTDI_VENDOR)
    return { ms: FTDI_DEFAULT_MS, from: "the maker's default for this family of chips (FTDI AN232B-04)" }
  if (/^\/dev\/ttyS\d+$/.test(real)) return { ms: 1, from: 'a port on the board, without an adapter' }
  return CAUTIOUS
}
