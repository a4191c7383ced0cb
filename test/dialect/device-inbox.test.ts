import { describe, expect, it } from 'vitest'
import { builtInDialects } from '../../shared/dialect/built-in/all.ts'
import { checkOf } from '../../shared/dialect/checksums.ts'
import { Flow } from '../../shared/dialect/device-flow.ts'
import { Inbox } from '../../shared/dialect/device-inbox.ts'
import { NOTHING_BOUND } from '../../shared/dialect/match.ts'
import type { Dialect } from '../../shared/dialect/schema.ts'
import { octetsOf } from '../support/boot-rom-rig.ts'

const an3155 = builtInDialects().get('st-an3155') as Dialect
const checks = new Map(Object.entries(an3155.checks).map(([name, spec]) => [name, checkOf(spec)]))
const hearing = {
  dialect: an3155,
  checks,
  framer: undefined,
  captured: () => undefined,
  bound: NOTHING_BOUND,
}
/** A recorded exchange may begin anywhere, so every request of ST AN3155 may be heard. */
const candidates = new Flow(an3155, () => undefined, true).candidates()
const inboxWith = (gapNs?: number) => new Inbox({ quietNs: 20, gapNs })
/** Get, AN3155 section 3.1. */
const GET = octetsOf('00 FF')

describe('what an emulated receiver has heard', () => {
  it('gives up messages one by one, however they arrived', () => {
    const inbox = inboxWith()
    expect(inbox.isEmpty).toBe(true)
    for (const part of [GET.subarray(0, 1), Uint8Array.of(0xff, 0x00, 0xff)])
      expect(inbox.add(part, 5)).toBe(true)
    expect(inbox.next(candidates, hearing, 5)?.end).toBe(2)
    expect(inbox.isEmpty).toBe(false)
    expect(inbox.next(candidates, hearing, 5)?.end).toBe(2)
    expect(inbox.isEmpty).toBe(true)
    expect(inbox.dueNs).toBeUndefined()
  })

  it('passes over nonsense until the line was quiet, and then complains once', () => {
    const inbox = inboxWith()
    inbox.add(octetsOf('5A 5A'), 100)
    expect(inbox.next(candidates, hearing, 100)).toBeUndefined()
    expect(inbox.dueNs).toBe(120)
    expect(inbox.add(GET, 110)).toBe(false)
    expect(inbox.dueNs).toBe(130)
    expect(inbox.overdue(129, () => candidates)).toBeUndefined()
    expect(inbox.overdue(130, () => candidates)?.replies).toContain('ack')
    expect(inbox.overdue(130, () => candidates)).toBeUndefined()
    expect(inbox.add(GET, 140)).toBe(true)
  })

  it('waits for the rest of a message as long as it may, and gives it up then', () => {
    const inbox = inboxWith(50)
    inbox.add(GET.subarray(0, 1), 100)
    expect(inbox.next(candidates, hearing, 100)).toBeUndefined()
    expect(inbox.dueNs).toBe(150)
    expect(inbox.overdue(149, () => candidates)).toBeUndefined()
    expect(inbox.isEmpty).toBe(false)
    expect(inbox.overdue(150, () => candidates)?.replies).toContain('ack')
    expect(inbox.isEmpty).toBe(true)
  })

  it('waits for ever where nothing limits the gap, and forgets when power goes', () => {
    const inbox = inboxWith()
    inbox.add(GET.subarray(0, 1), 100)
    inbox.next(candidates, hearing, 100)
    expect(inbox.dueNs).toBeUndefined()
    inbox.forget()
    expect(inbox.isEmpty).toBe(true)
  })
})
