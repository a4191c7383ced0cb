import { type Band, bandSchema } from '../model/units.ts'

/**
 * The tables in a program image that Preflash builds, and the way back from octets to tables. All numbers are
 * big-endian; reading never trusts a length.
 */

export interface HopTable {
  readonly band: Band
  /** Middle of channel 0. */
  readonly baseKilohertz: number
  readonly spacingKilohertz: number
  /** Channel numbers in the order in which the link visits them; each once. */
  readonly sequence: readonly number[]
}

/** Channels of each band: our own plan, inside the bands of ETSI EN 300 328, EN 300 220-2 and 47 CFR 15.247. */
const CHANNELS: Readonly<Record<Band, { base: number; spacing: number; count: number }>> = {
  '2.4GHz': { base: 2_402_000, spacing: 2_000, count: 40 },
  '868MHz': { base: 865_100, spacing: 200, count: 15 },
  '915MHz': { base: 902_750, spacing: 500, count: 50 },
}

const gcd = (a: number, b: number): number => (b === 0 ? a : gcd(b, a % b))

/**
 * Hop k visits channel (k·step + 7·generation) mod n, where step is the generation-th whole number from n/3 on that
 * has no factor in common with n. So every channel comes once, neighbours in time lie far apart, and no generation
 * hops like another.
 */
export function hopTable(band: Band, generation: number): HopTable {
  const { base, spacing, count } = CHANNELS[band]
  let step = Math.ceil(count / 3) - 1
  for (let found = 0; found < generation; ) if (gcd(++step, count) === 1) found++
  const sequence = Array.from({ length: count }, (_, k) => (k * step + 7 * generation) % count)
  return { band, baseKilohertz: base, spacingKilohertz: spacing, sequence }
}

export const FAILSAFE_MODES = ['hold', 'position', 'no-pulses'] as const
export interface FailsafeDefault {
  readonly mode: (typeof FAILSAFE_MODES)[number]
  readonly pulseMicros: number
}
export interface OutputTable {
  readonly neutralMicros: number
  readonly travelMicros: number
  readonly frameMicros: number
}
export interface TelemetryDescriptor {
  readonly id: number
  readonly label: string
  readonly unit: string
  /** A reading of n means n·10^exponent units. */
  readonly exponent: number
}

export const OUTPUTS = 16
const THROTTLE = 2
/** Time between two pulses of one servo, by link generation. */
const FRAME_MICROS = [22_500, 18_000, 11_000]

/** Servo outputs: neutral 1.5 ms and half a millisecond each way (common practice, no source). */
export const outputTables = (generation: number): OutputTable[] =>
  Array.from({ length: OUTPUTS }, () => ({
    neutralMicros: 1500,
    travelMicros: 500,
    frameMicros: FRAME_MICROS[Math.min(generation, FRAME_MICROS.length) - 1],
  }))

/** Throttle (third output) to its low end, everything else held (common practice, no source). */
export const failsafeDefaults = (): FailsafeDefault[] =>
  Array.from({ length: OUTPUTS }, (_, n) =>
    n === THROTTLE ? { mode: 'position', pulseMicros: 1000 } : { mode: 'hold', pulseMicros: 1500 },
  )

/** Later generations report more. */
export const telemetryDescriptors = (generation: number): TelemetryDescriptor[] =>
  [
    { id: 0x01, label: 'Signal strength', unit: 'dBm', exponent: 0 },
    { id: 0x02, label: 'Receiver supply', unit: 'V', exponent: -2 },
    { id: 0x03, label: 'Frames lost', unit: '', exponent: 0 },
    { id: 0x04, label: 'Link quality', unit: '%', exponent: 0 },
    { id: 0x05, label: 'Controller temperature', unit: '°C', exponent: -1 },
    { id: 0x06, label: 'Antenna in use', unit: '', exponent: 0 },
    { id: 0x07, label: 'Busy channels', unit: '', exponent: 0 },
  ].slice(0, 1 + 2 * Math.min(generation, 3))

/** Writes numbers one after the other. */
class Writer {
  private readonly octets: number[] = []
  put(bytes: 1 | 2 | 4, ...values: number[]): this {
    for (const value of values)
      for (let shift = 8 * (bytes - 1); shift >= 0; shift -= 8) this.octets.push((value >>> shift) & 0xff)
    return this
  }
  text(text: string): this {
    const octets = new TextEncoder().encode(text).subarray(0, 255)
    this.put(1, octets.length)
    for (const octet of octets) this.octets.push(octet)
    return this
  }
  done(): Uint8Array {
    return Uint8Array.from(this.octets)
  }
}

/** Reads them; any read beyond the end makes the whole section unreadable. */
class Reader {
  private at = 0
  readonly octets: Uint8Array
  beyond = false
  constructor(octets: Uint8Array) {
    this.octets = octets
  }
  get(bytes: 1 | 2 | 4): number {
    let value = 0
    if (this.at + bytes > this.octets.length) this.beyond = true
    else for (let i = 0; i < bytes; i++) value = value * 256 + this.octets[this.at + i]
    this.at += bytes
    return value
  }
  text(): string {
    const length = this.get(1)
    if (this.at + length > this.octets.length) this.beyond = true
    const text = new TextDecoder().decode(this.octets.subarray(this.at, this.at + length))
    this.at += length
    return text
  }
  get whole(): boolean {
    return !this.beyond && this.at === this.octets.length
  }
}

/** Decoders return undefined for octets that are not such a section. */
export interface SectionCodec<T> {
  encode(tables: readonly T[]): Uint8Array
  decode(octets: Uint8Array): T[] | undefined
}

function listCodec<T>(
  write: (w: Writer, table: T) => void,
  read: (r: Reader) => T | undefined,
): SectionCodec<T> {
  return {
    encode(tables) {
      const writer = new Writer().put(1, tables.length)
      for (const table of tables) write(writer, table)
      return writer.done()
    },
    decode(octets) {
      const reader = new Reader(octets)
      const tables: T[] = []
      for (let left = reader.get(1); left > 0 && !reader.beyond; left--) {
        const table = read(reader)
        if (table === undefined) return undefined
        tables.push(table)
      }
      return reader.whole ? tables : undefined
    },
  }
}

export const hopCodec = listCodec<HopTable>(
  (w, t) =>
    w
      .put(1, bandSchema.options.indexOf(t.band), t.sequence.length)
      .put(4, t.baseKilohertz)
      .put(2, t.spacingKilohertz)
      .put(1, ...t.sequence),
  r => {
    const band = bandSchema.options[r.get(1)]
    const count = r.get(1)
    const baseKilohertz = r.get(4)
    const spacingKilohertz = r.get(2)
    const sequence = Array.from({ length: count }, () => r.get(1))
    const isPermutation = new Set(sequence).size === count && sequence.every(channel => channel < count)
    return band === undefined || !isPermutation
      ? undefined
      : { band, baseKilohertz, spacingKilohertz, sequence }
  },
)

export const outputCodec = listCodec<OutputTable>(
  (w, t) => w.put(2, t.neutralMicros, t.travelMicros, t.frameMicros),
  r => ({ neutralMicros: r.get(2), travelMicros: r.get(2), frameMicros: r.get(2) }),
)

export const failsafeCodec = listCodec<FailsafeDefault>(
  (w, t) => w.put(1, FAILSAFE_MODES.indexOf(t.mode)).put(2, t.pulseMicros),
  r => {
    const mode = FAILSAFE_MODES[r.get(1)]
    const pulseMicros = r.get(2)
    return mode === undefined ? undefined : { mode, pulseMicros }
  },
)

export const telemetryCodec = listCodec<TelemetryDescriptor>(
  (w, t) =>
    w
      .put(1, t.id, t.exponent & 0xff)
      .text(t.label)
      .text(t.unit),
  r => {
    const id = r.get(1)
    const exponent = (r.get(1) << 24) >> 24
    return { id, exponent, label: r.text(), unit: r.text() }
  },
)

/** A quarter of a sine in 257 steps, 0..65535, for rotary trims and mixes. */
export const sineSection = (): Uint8Array =>
  new Writer()
    .put(2, ...Array.from({ length: 257 }, (_, i) => Math.round(65_535 * Math.sin((i / 512) * Math.PI))))
    .done()

/** Stick curves y = (1 − e)·x + e·x³ for e from 0 to 1 in steps of 0.05, 33 points each, 0..32767. */
export const expoSection = (): Uint8Array =>
  new Writer()
    .put(
      2,
      ...Array.from({ length: 21 * 33 }, (_, i) => {
        const e = Math.floor(i / 33) / 20
        const x = (i % 33) / 32
        return Math.round(32_767 * ((1 - e) * x + e * x ** 3))
      }),
    )
    .done()
