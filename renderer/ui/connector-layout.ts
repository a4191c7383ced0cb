import type { Connector, PinRole } from '../../shared/model/catalogue.ts'

/** Where the parts of a connector stand in its drawing. Pure, so that it can be checked without a screen. */

export const pinRoleWords: Readonly<Record<PinRole, string>> = {
  signal: 'signal',
  positive: 'positive',
  negative: 'negative',
  transmit: 'transmit',
  receive: 'receive',
  boot: 'boot',
  reset: 'reset',
  'not-used': 'not used',
}

/** From pin to pin. The longest word below a pin, "negative", has room in it. */
export const PITCH = 60
const MARGIN = 14
export const PIN_CENTRE_Y = 52
export const HOUSING = { x: 4, y: 18, height: 68 } as const
const MARK_LETTERS = 7

export interface PinPlace {
  /** From 1, as it is counted in data sheets. */
  readonly number: number
  readonly x: number
  /** The mark, cut where the next pin begins. */
  readonly mark: string
  readonly role: PinRole
  readonly words: string
}

export interface ConnectorLayout {
  readonly width: number
  readonly height: number
  readonly pins: readonly PinPlace[]
}

/** What a drawing needs of a connector, which may still be half typed. */
export type DrawnConnector = Pick<Connector, 'name' | 'pins' | 'keyed'>

const shorten = (text: string) =>
  text.length <= MARK_LETTERS ? text : `${text.slice(0, MARK_LETTERS - 1).trimEnd()}…`

/** @returns places in the units of the drawing, of which one pitch is `PITCH` */
export function layOut(connector: DrawnConnector): ConnectorLayout {
  const pins = connector.pins.map(
    (pin, i): PinPlace => ({
      number: i + 1,
      x: MARGIN + PITCH * (i + 0.5),
      mark: shorten(pin.name.trim()),
      role: pin.role,
      words: pinRoleWords[pin.role],
    }),
  )
  return { width: 2 * MARGIN + PITCH * Math.max(pins.length, 1), height: 126, pins }
}

const keyWords: Readonly<Record<string, string>> = {
  true: 'It has a key and goes in one way round only.',
  false: 'It has no key: it can be put in the wrong way round.',
  unknown: 'Whether it has a key is not known.',
}

/** Whether it can go in the wrong way round, in one sentence. */
export const sayKey = (keyed: Connector['keyed']): string => keyWords[String(keyed)]

/** The whole drawing in words, for those who do not see it. */
export function sayConnector(connector: DrawnConnector): string {
  const pins = connector.pins.map((pin, i) => {
    const mark = pin.name.trim()
    return `pin ${i + 1}${mark === '' ? '' : ` marked ${mark}`}, ${pinRoleWords[pin.role]}`
  })
  const name = connector.name.trim()
  const from = connector.keyed === true ? ', from left to right with the key up' : ', from left to right'
  const listed = pins.length === 0 ? 'no pins yet' : pins.join('; ')
  return `${name === '' ? 'Connector' : name}, seen on the mating face${from}: ${listed}. ${sayKey(connector.keyed)}`
}
