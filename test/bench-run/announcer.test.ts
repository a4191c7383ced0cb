import { describe, expect, it } from 'vitest'
import { ANNOUNCED_OCTETS, Announcer, MOST_ANNOUNCED_OCTETS } from '../../shared/bench-run/announcer.ts'
import type { LogEvent } from '../../shared/logbook/event.ts'

const BLOCK = 1024

interface Announced {
  readonly offset: number
  readonly bytes: number
  readonly last: boolean
}

/** Writes an image, each block in its own time. @returns what was announced of it, in order */
function announcedOf(imageOctets: number, blockMs: (done: number) => number): Announced[] {
  const announcer = new Announcer({ imageOctets, beginChanges: false })
  const log: LogEvent[] = []
  let nowMs = 0
  log.push(...announcer.before({ do: 'say', event: { kind: 'phase', phase: 'write', attempt: 1 } }, nowMs))
  for (let done = 0; done < imageOctets; ) {
    const length = Math.min(BLOCK, imageOctets - done)
    log.push(...announcer.before({ do: 'send', octets: new Uint8Array(length) }, nowMs))
    const covered = Math.max(...writesOf(log).map(({ offset, bytes }) => offset + bytes))
    expect(covered, `of the block at ${done}`).toBeGreaterThanOrEqual(done + length)
    nowMs += blockMs(done)
    done += length
    const event = { kind: 'progress', done, total: imageOctets } as const
    log.push(...announcer.before({ do: 'say', event }, nowMs))
  }
  return writesOf(log)
}

const writesOf = (log: readonly LogEvent[]): Announced[] =>
  log.flatMap(event =>
    event.kind === 'effect' && event.effect === 'write'
      ? [{ offset: event.offset ?? -1, bytes: event.bytes ?? 0, last: event.last ?? false }]
      : [],
  )

describe('what a write announces', () => {
  it('is a little at a time on a line that takes its time', () => {
    const announced = announcedOf(200 * 1024, () => 90)
    expect(announced.length).toBeGreaterThan(12)
    for (const { bytes } of announced) expect(bytes).toBeLessThanOrEqual(ANNOUNCED_OCTETS)
  })

  it('is more and more at a time where committing it would take longer than writing it', () => {
    const announced = announcedOf(2 * 1024 * 1024, () => 0.5)
    expect(announced.slice(0, 5).map(({ bytes }) => bytes / ANNOUNCED_OCTETS)).toEqual([1, 2, 4, 8, 16])
    expect(announced.length).toBeLessThan(16)
    for (const { bytes } of announced) expect(bytes).toBeLessThanOrEqual(MOST_ANNOUNCED_OCTETS)
  })

  it('is little again where a fast line becomes slow', () => {
    const announced = announcedOf(1024 * 1024, done => (done < 256 * 1024 ? 0.5 : 90))
    const slow = announced.filter(({ offset, last }) => offset > 640 * 1024 && !last)
    expect(slow.length).toBeGreaterThan(10)
    for (const { bytes } of slow) expect(bytes).toBeLessThanOrEqual(ANNOUNCED_OCTETS)
  })

  it.each([0.5, 90])('says of the last block that it is the last, at %s ms a block', blockMs => {
    const announced = announcedOf(300 * 1024, () => blockMs)
    expect(announced.at(-1)).toEqual({ offset: 299 * 1024, bytes: 1024, last: true })
    expect(announced.filter(({ last }) => last)).toHaveLength(1)
  })
})
