import { ProblemError } from '../../shared/model/problem.ts'
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

const away = new Set<string>()

/**
 * The places of serial servers that were not there when this process last wanted to use them. Nobody looks whether they
 * are back but whoever opens them: to be connected to makes a server open its port, and that moves the control lines.
 */
export const awayPlaces = (): ReadonlySet<string> => away

/**
 * Opens a port, wherever it is.
 * @throws ProblemError with a code `port.…` that says why it does not open
 */
export async function openPort(
  where: PortPlace,
  settings: LineSettings,
  options: OpenOptions = {},
): Promise<OpenPort> {
  const place = placeText(where)
  const port =
    where.kind === 'local'
      ? await openLocalPort(where.path, settings, options)
      : await remembering(place, openServerPort(where, settings, options.label))
  open.add(place)
  port.onLost(() => {
    open.delete(place)
    if (where.kind !== 'local') away.add(place)
  })
  const close = port.close.bind(port)
  port.close = async () => {
    await close()
    open.delete(place)
  }
  return port
}

/** Whether a server is there, as whoever opens its port finds out. */
async function remembering(place: string, opening: Promise<OpenPort>): Promise<OpenPort> {
  try {
    const port = await opening
    away.delete(place)
    return port
  } catch (error) {
    if (error instanceof ProblemError && error.problem.code === 'port.server-not-there') away.add(place)
    throw error
  }
}
