import { openLocalPort } from './local-port.ts'
import { type LineSettings, type OpenPort, type PortPlace, placeText } from './port.ts'
import { openServerPort } from './rfc2217-port.ts'

export interface OpenOptions {
  /** For people; the place where it is left out. */
  readonly label?: string | undefined
  /** USB vendor, four hexadecimal digits, where it is known: some families of chips have a known latency. */
  readonly vendorId?: string | undefined
}

const open = new Set<string>()

/** The places of all ports that this process has open. */
export const openPlaces = (): ReadonlySet<string> => open

/**
 * Opens a port, wherever it is.
 * @throws ProblemError with a code `port.…` that says why it does not open
 */
export async function openPort(
  where: PortPlace,
  settings: LineSettings,
  options: OpenOptions = {},
): Promise<OpenPort> {
  const port =
    where.kind === 'local'
      ? await openLocalPort(where.path, settings, options)
      : await openServerPort(where, settings, options.label)
  const place = placeText(where)
  open.add(place)
  port.onLost(() => open.delete(place))
  const close = port.close.bind(port)
  port.close = async () => {
    await close()
    open.delete(place)
  }
  return port
}
