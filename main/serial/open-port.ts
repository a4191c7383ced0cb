import { openLocalPort } from './local-port.ts'
import type { LineSettings, OpenPort, PortPlace } from './port.ts'

export interface OpenOptions {
  /** For people; the place where it is left out. */
  readonly label?: string | undefined
  /** USB vendor, four hexadecimal digits, where it is known: some families of chips have a known latency. */
  readonly vendorId?: string | undefined
}

/**
 * Opens a port, wherever it is.
 * @throws ProblemError with a code `port.…` that says why it does not open
 */
export const openPort = (
  where: Extract<PortPlace, { kind: 'local' }>,
  settings: LineSettings,
  options: OpenOptions = {},
): Promise<OpenPort> => openLocalPort(where.path, settings, options)
