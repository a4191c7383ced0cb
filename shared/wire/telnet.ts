/**
 * Telnet as RFC 854 (commands, data) and RFC 855 (options, subnegotiation) have it, as far as carrying octets needs it.
 * What comes from the other end may be anything: it is never an error, and never more than a bounded part is kept.
 */
export const IAC = 255
/** RFC 854, "Telnet command structure". */
export const VERB = { se: 240, nop: 241, sb: 250, will: 251, wont: 252, do: 253, dont: 254 } as const
export const OPTION = {
  /** RFC 856. */
  binary: 0,
  /** RFC 857. */
  echo: 1,
  /** RFC 858: suppress go-ahead. */
  noGoAhead: 3,
  /** RFC 2217. */
  comPort: 44,
} as const
export type Asking = 'will' | 'wont' | 'do' | 'dont'

/** Longer parameters are cut off; those of RFC 2217 are a few octets, its signature a line of text. */
export const MOST_PARAMETERS = 512

export interface TelnetHearer {
  /** Octets of the data, without telnet's own. They are the hearer's own. */
  data(octets: Uint8Array): void
  /** The other end offers or asks for an option. */
  asking(verb: Asking, option: number): void
  /** Parameters of an option. */
  parameters(option: number, octets: Uint8Array): void
}

const ASKINGS: Readonly<Record<number, Asking>> = {
  [VERB.will]: 'will',
  [VERB.wont]: 'wont',
  [VERB.do]: 'do',
  [VERB.dont]: 'dont',
}

type State = 'data' | 'iac' | 'asking' | 'option' | 'parameters' | 'iac-in-parameters'

/** Takes a stream apart, however it comes in pieces. */
export class TelnetDecoder {
  readonly #hearer: TelnetHearer
  #state: State = 'data'
  #verb: Asking = 'will'
  #option = 0
  #parameters: number[] = []

  constructor(hearer: TelnetHearer) {
    this.#hearer = hearer
  }

  push(octets: Uint8Array): void {
    const data = new Uint8Array(octets.length)
    let count = 0
    for (const octet of octets) {
      if (this.#state === 'data' && octet !== IAC) data[count++] = octet
      else if (this.#state === 'iac' && octet === IAC) {
        data[count++] = IAC
        this.#state = 'data'
      } else this.#command(octet)
    }
    if (count > 0) this.#hearer.data(data.slice(0, count))
  }

  #command(octet: number): void {
    switch (this.#state) {
      case 'data':
        this.#state = 'iac'
        return
      case 'iac':
        return this.#afterIac(octet)
      case 'asking':
        this.#state = 'data'
        return this.#hearer.asking(this.#verb, octet)
      case 'option':
        this.#option = octet
        this.#parameters = []
        this.#state = 'parameters'
        return
      case 'parameters':
        if (octet === IAC) this.#state = 'iac-in-parameters'
        else this.#keep(octet)
        return
      case 'iac-in-parameters':
        return this.#iacInParameters(octet)
    }
  }

  #afterIac(octet: number): void {
    const verb = ASKINGS[octet]
    if (verb !== undefined) this.#verb = verb
    // Whatever else there is (NOP, go-ahead, …) has no octets of its own.
    this.#state = verb !== undefined ? 'asking' : octet === VERB.sb ? 'option' : 'data'
  }

  #iacInParameters(octet: number): void {
    this.#state = 'parameters'
    if (octet === IAC) return this.#keep(IAC)
    // Anything but the end is against RFC 855; the parameters end here all the same.
    this.#state = 'data'
    this.#hearer.parameters(this.#option, Uint8Array.from(this.#parameters))
    this.#parameters = []
    if (octet !== VERB.se) this.#afterIac(octet)
  }

  #keep(octet: number): void {
    if (this.#parameters.length < MOST_PARAMETERS) this.#parameters.push(octet)
  }
}

/** Data as it goes onto the connection: an octet 255 is doubled (RFC 854). */
export function escapeData(octets: Uint8Array): Uint8Array {
  const doubled = octets.reduce((count, octet) => count + (octet === IAC ? 1 : 0), 0)
  if (doubled === 0) return octets
  const out = new Uint8Array(octets.length + doubled)
  let at = 0
  for (const octet of octets) {
    out[at++] = octet
    if (octet === IAC) out[at++] = IAC
  }
  return out
}

export const askingOctets = (verb: Asking, option: number): Uint8Array =>
  Uint8Array.of(IAC, VERB[verb], option)

/** Parameters of an option, in their frame (RFC 855). */
export const parametersOctets = (option: number, octets: Uint8Array): Uint8Array =>
  Uint8Array.of(IAC, VERB.sb, option, ...escapeData(octets), IAC, VERB.se)
