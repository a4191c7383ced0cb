import type { ImageAnswer } from '../../../renderer/new-bench/answers.ts'
import { inspectImage } from '../../../shared/image/inspect.ts'
import type { Segment } from '../../../shared/image/segments.ts'
import { writeIntelHex } from '../../../shared/image/write-intel-hex.ts'

/** Octets that repeat nowhere near, so that a page in the wrong place shows. */
export const octetsOf = (length: number): Uint8Array =>
  Uint8Array.from({ length }, (_, i) => (i * 73 + (i >> 8) * 31 + 7) & 0xff)

/** An image as the window holds it after a file was chosen. */
export function imageAnswer(fileName: string, octets: Uint8Array): ImageAnswer {
  const inspected = inspectImage(octets, fileName, { rawAddress: 0 })
  if (!inspected.ok) throw new Error(inspected.problems[0].message)
  return { fileName, octets, inspected: inspected.value }
}

export const hexAnswer = (...segments: readonly Segment[]): ImageAnswer =>
  imageAnswer('own.hex', new TextEncoder().encode(writeIntelHex(segments)))
