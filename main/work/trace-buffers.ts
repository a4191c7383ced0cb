import type { PackedTrace } from '../../shared/sim/pack.ts'

/** The columns of a trace that was packed for whoever asked, and that only they look at. */
export function traceBuffers({ lanes, flash, supply, progress }: PackedTrace): ArrayBuffer[] {
  const columns = [...lanes, flash, supply, progress].flatMap(part => Object.values(part))
  return [...new Set(columns.filter(isOctets).map(({ buffer }) => buffer))].filter(isOwned)
}

/** The same of a reply that may have a trace. */
export function buffersIn(reply: unknown): ArrayBuffer[] {
  const { value } = reply as { readonly value?: { readonly trace?: PackedTrace } }
  return value?.trace === undefined ? [] : traceBuffers(value.trace)
}

const isOctets = (column: unknown): column is Uint8Array => column instanceof Uint8Array
const isOwned = (buffer: ArrayBufferLike): buffer is ArrayBuffer => buffer instanceof ArrayBuffer
