import { z } from 'zod'
import { cableUnitSchema } from '../model/gear.ts'
import { octetsSchema as octets } from '../model/units.ts'
import { FAILURES, OUTCOMES } from '../procedure/effects.ts'
import { PHASES, type Trace } from './trace.ts'

/**
 * A trace as plain JSON values and octet arrays, so that it can cross the contract.
 * Columns are little-endian; the host and the window run on the same machine.
 */
const level = z.enum(['info', 'good', 'caution', 'danger'])
const text = z.string()
const laidWireSchema = cableUnitSchema.shape.wires.element.extend({ isOff: z.literal(true).optional() })
const MOST_WIRES = 8
const sessionEventSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('phase'), phase: z.enum(PHASES), attempt: z.number() }),
  z.object({ kind: z.literal('progress'), done: z.number(), total: z.number() }),
  z.object({ kind: z.literal('note'), level, text }),
  z.object({ kind: z.literal('retry'), what: text, tries: z.number(), text }),
  z.object({ kind: z.literal('attempt-failed'), attempt: z.number(), code: z.enum(FAILURES), text }),
  z.object({ kind: z.literal('fault'), fault: text, text }),
  z.object({
    kind: z.literal('refused'),
    by: z.enum(['radio', 'module', 'receiver', 'card']),
    rule: text,
    text,
  }),
  z.object({ kind: z.literal('outcome'), outcome: z.enum(OUTCOMES), text }),
])

export const packedTraceSchema = z.object({
  endNs: z.number(),
  lanes: z.array(
    z.object({
      id: z.enum(['bus', 'module-port', 'air', 'port']),
      label: z.string(),
      baud: z.number(),
      bitsPerCharacter: z.number(),
      parity: z.enum(['none', 'even', 'odd']),
      talkers: z.array(z.string()),
      burstCount: z.number(),
      startNs: octets,
      talker: octets,
      firstOctet: octets,
      octetCount: octets,
      flags: octets,
      octets,
      heard: z.array(z.object({ atNs: z.number(), octets, framingErrors: z.number() })),
    }),
  ),
  flash: z.object({
    count: z.number(),
    startNs: octets,
    endNs: octets,
    kind: octets,
    offset: octets,
    bytes: octets,
    torn: octets,
  }),
  supply: z.object({ count: z.number(), atNs: octets, volts: octets, milliamps: octets }),
  progress: z.object({ count: z.number(), atNs: octets, done: octets, total: octets, phase: octets }),
  phases: z.array(
    z.object({
      id: z.enum(PHASES),
      startNs: z.number(),
      endNs: z.number(),
      attempt: z.number(),
      ended: z.enum(['done', 'failed', 'broken-off']),
    }),
  ),
  devices: z.array(
    z.object({
      atNs: z.number(),
      device: z.enum(['radio', 'card', 'module', 'cable', 'air', 'receiver', 'supply', 'sensor']),
      state: z.string(),
      alive: z.boolean(),
      wires: z.array(laidWireSchema).max(MOST_WIRES).readonly().optional(),
    }),
  ),
  events: z.array(z.object({ atNs: z.number(), event: sessionEventSchema })),
})
export type PackedTrace = z.infer<typeof packedTraceSchema>

/** A column as octets. */
export const bytesOf = (a: { buffer: ArrayBufferLike; byteOffset: number; byteLength: number }) =>
  new Uint8Array(a.buffer, a.byteOffset, a.byteLength)

export function packTrace(trace: Trace): PackedTrace {
  const { flash, supply, progress } = trace
  return {
    endNs: trace.endNs,
    lanes: trace.lanes.map(lane => ({
      ...lane,
      talkers: [...lane.talkers],
      heard: lane.heard.map(h => ({ ...h })),
      startNs: bytesOf(lane.startNs),
      firstOctet: bytesOf(lane.firstOctet),
      octetCount: bytesOf(lane.octetCount),
    })),
    flash: {
      ...flash,
      startNs: bytesOf(flash.startNs),
      endNs: bytesOf(flash.endNs),
      offset: bytesOf(flash.offset),
      bytes: bytesOf(flash.bytes),
    },
    supply: {
      count: supply.count,
      atNs: bytesOf(supply.atNs),
      volts: bytesOf(supply.volts),
      milliamps: bytesOf(supply.milliamps),
    },
    progress: {
      count: progress.count,
      atNs: bytesOf(progress.atNs),
      done: bytesOf(progress.done),
      total: bytesOf(progress.total),
      phase: bytesOf(progress.phase),
    },
    phases: [...trace.phases],
    devices: [...trace.devices],
    events: [...trace.events],
  }
}

/** A copy that is aligned for the wider element, whatever the offset in the message was. */
const aligned = (packed: Uint8Array): ArrayBuffer => packed.slice().buffer as ArrayBuffer
export const f64 = (p: Uint8Array) => new Float64Array(aligned(p))
const f32 = (p: Uint8Array) => new Float32Array(aligned(p))
export const u32 = (p: Uint8Array) => new Uint32Array(aligned(p))
export const u16 = (p: Uint8Array) => new Uint16Array(aligned(p))

export function unpackTrace(packed: PackedTrace): Trace {
  const { flash, supply, progress } = packed
  return {
    endNs: packed.endNs,
    lanes: packed.lanes.map(lane => ({
      ...lane,
      startNs: f64(lane.startNs),
      firstOctet: u32(lane.firstOctet),
      octetCount: u32(lane.octetCount),
    })),
    flash: {
      ...flash,
      startNs: f64(flash.startNs),
      endNs: f64(flash.endNs),
      offset: u32(flash.offset),
      bytes: u32(flash.bytes),
    },
    supply: {
      count: supply.count,
      atNs: f64(supply.atNs),
      volts: f32(supply.volts),
      milliamps: f32(supply.milliamps),
    },
    progress: {
      count: progress.count,
      atNs: f64(progress.atNs),
      done: f64(progress.done),
      total: f64(progress.total),
      phase: u16(progress.phase),
    },
    phases: packed.phases,
    devices: packed.devices,
    events: packed.events,
  }
}
