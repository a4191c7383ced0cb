import type { Problem } from '../../shared/model/problem.ts'
import { type LineSettings, settingsText } from './port.ts'

/** Why a port of this computer does not open, from what the binding says; its words differ by system. */

const busy = (file: string): Problem => ({
  code: 'port.in-use',
  file,
  message: `The port ${file} is in use by another program.`,
  remedy: 'Close the program that has it open, or unplug the adapter and plug it in again.',
})

const forbidden = (file: string): Problem => ({
  code: 'port.no-permission',
  file,
  message: `You may not use the port ${file}.`,
  remedy: 'The list of ports says how to get permission on this system.',
})

const missing = (file: string): Problem => ({
  code: 'port.missing',
  file,
  message: `There is no port ${file}.`,
  remedy: 'Look whether the adapter is plugged in.',
})

export const notAPort = (file: string): Problem => ({
  code: 'port.not-a-port',
  file,
  message: `${file} is not a serial port.`,
  remedy: 'Choose one from the list of ports.',
})

export const cannotBeSet = (file: string, settings: LineSettings): Problem => ({
  code: 'port.settings',
  file,
  message: `The port ${file} cannot be set to ${settingsText(settings)}.`,
  remedy: 'Use another adapter, or another rate if the receiver allows one.',
})

const silent = (file: string): Problem => ({
  code: 'port.does-not-open',
  file,
  message: `The port ${file} does not open.`,
  remedy: 'Unplug the adapter, plug it in again, and try once more.',
})

/** @param error what the binding's open rejected with */
export function whyNotOpen(path: string, settings: LineSettings, error: unknown): Problem {
  const said = error instanceof Error ? error.message : String(error)
  if (/cannot lock|in use|busy|access(?: is)? denied/i.test(said)) return busy(path)
  if (/permission denied|not permitted/i.test(said)) return forbidden(path)
  if (/no such|file not found|not found|enxio/i.test(said)) return missing(path)
  if (/inappropriate ioctl/i.test(said)) return notAPort(path)
  if (/baud|parity|stop/i.test(said)) return cannotBeSet(path, settings)
  return silent(path)
}
