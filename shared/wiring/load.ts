import type { ReceiverType } from '../model/catalogue.ts'
import type { Feed } from './feed.ts'

/** What a servo draws that holds no load. Common practice, no source. */
const SERVO_IDLE_MILLIAMPS = 8

export interface LoadOptions {
  readonly type: ReceiverType
  readonly byAir: boolean
  readonly feed: Feed
  /** Servos of the model; they hang on its own supply, and draw nothing when the cable feeds the receiver. */
  readonly servos: number
}

/** What else hangs on the receiver's supply all the time, in milliamperes. */
export const alwaysMilliamps = (feed: Feed, servos: number): number =>
  feed.throughCable ? 0 : servos * SERVO_IDLE_MILLIAMPS

/**
 * What the supply has to carry in an update.
 * @returns milliamperes when the receiver starts, and the most that it draws while it erases, writes or runs
 */
export function receiverLoad({ type, byAir, feed, servos }: LoadOptions): {
  startMilliamps: number
  mostMilliamps: number
} {
  const { bootMilliamps, flashMilliamps, idleMilliamps, radioMilliamps } = type.draw
  const always = alwaysMilliamps(feed, servos)
  const flashing = bootMilliamps + flashMilliamps + (byAir ? radioMilliamps : 0)
  return {
    startMilliamps: bootMilliamps + always,
    mostMilliamps: Math.max(flashing, idleMilliamps) + always,
  }
}

/** What a telemetry sensor draws. Common practice, no source. */
const SENSOR_MILLIAMPS = 15

/** What the sensors on the receiver draw from its supply, in milliamperes. */
export const sensorMilliamps = (sensors: number): number => sensors * SENSOR_MILLIAMPS
