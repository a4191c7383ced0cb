import type { PortInfo } from '../../shared/api/ports.ts'
import { type Problem, ProblemError } from '../../shared/model/problem.ts'
import { type Access, accessTo, FREE, OURS } from './access.ts'
import { type Identity, identityOf, sticksToWords } from './identity.ts'
import { type Latency, latencyOf } from './latency.ts'
import { awayPlaces, openPlaces, openPort } from './open-port.ts'
import { type LineSettings, type OpenPort, type PortPlace, placeText, readPlace } from './port.ts'
import type { PortsFile } from './ports-file.ts'
import { SERVER_LATENCY } from './rfc2217-port.ts'
import { notThere } from './server-problems.ts'
import { type SystemPort, systemPorts, type UsbFacts } from './system-ports.ts'
import { abilityText, knownAdapter } from './usb-ids.ts'

/** All ports: those that the system has and those that somebody typed in, with what is known of each. */

/** What is asked of the machine, so that a test can be one. */
export interface PortsMachine {
  readonly systemPorts: () => Promise<readonly SystemPort[]>
  readonly accessTo: (path: string) => Promise<Access>
  readonly latencyOf: (path: string, vendorId?: string) => Promise<Latency>
}
export const thisMachine: PortsMachine = { systemPorts, accessTo, latencyOf }

export interface PortList {
  readonly ports: PortInfo[]
  readonly problem?: Problem
}

interface Found {
  readonly place: PortPlace
  readonly usb: UsbFacts | undefined
  readonly isTyped: boolean
  readonly isSystem: boolean
}

export class Ports {
  readonly #file: PortsFile
  readonly #machine: PortsMachine

  constructor(file: PortsFile, machine: PortsMachine = thisMachine) {
    this.#file = file
    this.#machine = machine
  }

  /** Never rejects for what a port is or is not. Adapters come first, by place. */
  async list(): Promise<PortList> {
    const [{ kept, problem }, found] = await Promise.all([this.#file.get(), this.#found()])
    const usbs = found.map(f => f.usb)
    const ports = await Promise.all(
      found.map(f => this.#describe(f, identityOf(f.place, f.usb, usbs), kept.names)),
    )
    ports.sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) || byPlace(a.place, b.place))
    return { ports, ...(problem ? { problem } : {}) }
  }

  /**
   * Gives a port a name, or takes it away where the name is empty.
   * @throws ProblemError `port.unknown`, `port.name-taken`, those of PortsFile
   */
  async name(place: string, name: string): Promise<PortList> {
    const found = await this.#found()
    const port = found.find(f => placeText(f.place) === place)
    if (port === undefined) throw new ProblemError(unknown(place))
    const usbs = found.map(f => f.usb)
    const { key } = identityOf(port.place, port.usb, usbs)
    const given = name.trim().replaceAll(/\p{C}+/gu, ' ')
    await this.#file.change(kept => {
      const others = kept.names.filter(n => n.key !== key)
      if (given !== '' && others.some(n => n.name === given)) throw new ProblemError(taken(given))
      return { ...kept, names: given === '' ? others : [...others, { key, name: given }] }
    })
    return this.list()
  }

  /** @throws ProblemError `port.place`, those of PortsFile */
  async add(typed: string): Promise<PortList> {
    const read = readPlace(typed)
    if (!read.ok) throw new ProblemError(read.problems[0])
    const place = placeText(read.value)
    await this.#file.change(kept => ({ ...kept, typed: [...kept.typed.filter(t => t !== place), place] }))
    return this.list()
  }

  /** @throws ProblemError `port.not-typed`, those of PortsFile */
  async remove(place: string): Promise<PortList> {
    await this.#file.change(kept => {
      if (!kept.typed.includes(place)) throw new ProblemError(notTyped(place))
      return { ...kept, typed: kept.typed.filter(t => t !== place) }
    })
    return this.list()
  }

  /** A port by its place or by the name that was given to it. */
  async find(placeOrName: string): Promise<PortInfo | undefined> {
    const { ports } = await this.list()
    return ports.find(p => p.place === placeOrName) ?? ports.find(p => p.name === placeOrName)
  }

  /**
   * Opens a port by the name that was given to it, or by its place, listed or not, with what is known of it.
   * @throws ProblemError `port.place`, those of openPort
   */
  async open(placeOrName: string, settings: LineSettings): Promise<OpenPort> {
    const listed = await this.find(placeOrName)
    const read = readPlace(listed?.place ?? placeOrName)
    if (!read.ok) throw new ProblemError(read.problems[0])
    return openPort(read.value, settings, {
      label: listed?.name ?? placeText(read.value),
      vendorId: listed?.usb?.vendorId,
    })
  }

  async #found(): Promise<readonly Found[]> {
    const [{ kept }, system] = await Promise.all([this.#file.get(), this.#machine.systemPorts()])
    const found: Found[] = system.map(({ path, usb }) => ({
      place: { kind: 'local', path },
      usb,
      isTyped: kept.typed.includes(path),
      isSystem: true,
    }))
    for (const text of kept.typed) {
      const read = readPlace(text)
      if (!read.ok || found.some(f => placeText(f.place) === placeText(read.value))) continue
      found.push({ place: read.value, usb: undefined, isTyped: true, isSystem: false })
    }
    return found
  }

  async #describe(
    { place, usb, isTyped, isSystem }: Found,
    { key, sticksTo }: Identity,
    names: readonly { readonly key: string; readonly name: string }[],
  ): Promise<PortInfo> {
    const text = placeText(place)
    const name = names.find(n => n.key === key)?.name
    const [access, latency] = await Promise.all([this.#access(place), this.#latency(place, usb)])
    const kind = place.kind === 'rfc2217' ? 'server' : usb ? 'adapter' : isSystem ? 'board' : 'typed'
    return {
      ...{ place: text, kind, isTyped, nameStays: sticksToWords[sticksTo] },
      ...describe(kind, usb),
      ...(usb ? { usb: withoutGaps(usb) } : {}),
      ...(name === undefined ? {} : { name }),
      ...{ state: access.state, stateText: access.text, latencyMs: latency.ms, latencyFrom: latency.from },
      ...(access.remedy === undefined ? {} : { remedy: access.remedy }),
    }
  }

  async #access(place: PortPlace): Promise<Access> {
    if (openPlaces().has(placeText(place))) return OURS
    if (place.kind === 'local') return this.#machine.accessTo(place.path)
    return awayPlaces().has(placeText(place)) ? serverAway(placeText(place)) : SERVER_ACCESS
  }

  async #latency(place: PortPlace, usb: UsbFacts | undefined): Promise<Latency> {
    return place.kind === 'local' ? this.#machine.latencyOf(place.path, usb?.vendorId) : SERVER_LATENCY
  }
}

const SERVER_ACCESS: Access = { ...FREE, state: 'not-known', text: 'found out when it is opened' }
/** It may be back by now, so it can still be chosen. */
const serverAway = (place: string): Access => ({
  state: 'not-known',
  text: 'was not there last time',
  remedy: notThere(place).remedy,
})
const ORDER: readonly PortInfo['kind'][] = ['adapter', 'server', 'typed', 'board']
/** ttyUSB2 before ttyUSB10. */
const byPlace = (a: string, b: string) => a.localeCompare(b, 'en', { numeric: true })

function describe(kind: PortInfo['kind'], usb: UsbFacts | undefined): { what: string; can: string } {
  if (usb) {
    const known = knownAdapter(usb.vendorId, usb.productId)
    return { what: known?.name ?? unknownText(usb), can: abilityText(known) }
  }
  if (kind === 'server')
    return {
      what: 'serial server (RFC 2217)',
      can: 'rate, parity, control lines and break, where the server passes them on',
    }
  if (kind === 'board')
    return { what: 'port on the board of this computer', can: 'rates up to 115200, control lines, break' }
  return { what: 'typed in', can: 'not known' }
}

/** What an adapter that is not in the list says of itself is shown, but it may say anything. */
function unknownText({ manufacturer, product }: UsbFacts): string {
  const says = [manufacturer, product].filter(t => t !== undefined).join(' ')
  return says === '' ? 'unknown adapter' : `unknown adapter, calls itself "${says}"`
}

const withoutGaps = ({ vendorId, productId, serialNumber, manufacturer, product }: UsbFacts) => ({
  ...{ vendorId, productId },
  ...(serialNumber === undefined ? {} : { serialNumber }),
  ...(manufacturer === undefined ? {} : { manufacturer }),
  ...(product === undefined ? {} : { product }),
})

const unknown = (place: string): Problem => ({
  code: 'port.unknown',
  field: 'port',
  message: `There is no port ${place.slice(0, 80)} in the list.`,
  remedy: 'Plug the adapter in, or add the port to the list first.',
})
const taken = (name: string): Problem => ({
  code: 'port.name-taken',
  field: 'name',
  message: `Another port is called "${name}" already.`,
  remedy: 'Choose another name.',
})
const notTyped = (place: string): Problem => ({
  code: 'port.not-typed',
  field: 'port',
  message: `${place.slice(0, 80)} was not typed in, so it cannot be taken off the list.`,
  remedy: 'It goes by itself when it is unplugged.',
})
