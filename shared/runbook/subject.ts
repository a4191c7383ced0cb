import type { Situation } from '../fit/situation.ts'
import { findType } from '../model/bench.ts'
import type { Connector } from '../model/catalogue.ts'
import type { SensorUnit } from '../model/gear.ts'
import { isKnown } from '../model/units.ts'
import { type CautionId, cautionsOf } from '../rehearse/cautions.ts'
import type { ReadyImage } from '../rehearse/image.ts'
import { stagedPaths } from '../rehearse/table.ts'
import type { RehearsedTimes } from './durations.ts'
import type { Other, Step } from './schema.ts'

/** What the steps are written about. */
export interface Subject {
  readonly s: Situation
  readonly image: ReadyImage
  readonly times: RehearsedTimes
  readonly sensors: readonly SensorUnit[]
  readonly files: readonly [payload: string, card: string]
}

export function subjectOf(s: Situation, image: ReadyImage, times: RehearsedTimes): Subject {
  const { payloadPath, cardPath } = stagedPaths(image, s.card?.folder ?? 'IMAGES')
  const sensors = s.bench.sensors.filter(sensor => sensor.receiverId === s.receiver.id)
  return { s, image, times, sensors, files: [payloadPath, cardPath] }
}

export const radioName = ({ s }: Subject): string => s.radio?.nickname ?? 'the radio'
/** The same at the beginning of a sentence. */
export function radioFirst(of: Subject): string {
  const name = radioName(of)
  return name.charAt(0).toUpperCase() + name.slice(1)
}
export const receiverName = ({ s }: Subject): string => s.receiver.nickname
export const volts = (v: number): string => `${v.toFixed(1)} V`

export const cautionOf = ({ s }: Subject, id: CautionId): string | undefined =>
  cautionsOf(s).find(caution => caution.id === id)?.text

/** The plug on the receiver's side. */
export const plugOf = ({ s }: Subject): Connector | undefined =>
  findType(s.bench.catalogue, 'connectors', s.receiverType.connectorId)

/** The socket of the radio that the update cable goes into. */
export function socketOf({ s }: Subject): Connector | undefined {
  const port = s.radioType?.updatePort
  return port === undefined || !isKnown(port)
    ? undefined
    : findType(s.bench.catalogue, 'connectors', port.connectorId)
}

export const isFedThroughCable = ({ s }: Subject): boolean =>
  s.route === 'cable' && s.wiring.cableFeed === 'through-cable'

const MINUTE_MS = 60_000
/** Minutes of handiwork. */
export const minutes = (count: number): number => count * MINUTE_MS

const TROUBLE = { to: 'trouble' } as const

/** Something else that is seen and has to be looked into. */
export const sees = (text: string, symptom: Other['symptom'], facts: Other['facts'] = {}): Other => ({
  text,
  ...(symptom === undefined ? {} : { symptom }),
  facts,
  leads: TROUBLE,
})

type Given = Pick<Step, 'id' | 'part' | 'text' | 'expect' | 'sure' | 'others'> & Partial<Step>

/** A step with what most steps have. */
export const step = (given: Given): Step => {
  const { caution, ...rest } = given
  return {
    rehearsedMs: 0,
    handsMs: 0,
    phases: [],
    facts: {},
    again: given.id,
    ...rest,
    ...(caution === undefined ? {} : { caution }),
  }
}

/** For steps where nothing can be diagnosed: it is to be put right, and done again. */
export const notSo = (text: string): Other => sees(text, undefined)
