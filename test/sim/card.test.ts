import { describe, expect, it } from 'vitest'
import { demoBench } from '../../shared/demo/bench.ts'
import type { CardUnit } from '../../shared/model/gear.ts'
import { VirtualCard } from '../../shared/sim/card.ts'
import { TraceRecorder } from '../../shared/sim/trace.ts'

const unit: CardUnit = {
  ...demoBench().cards[0],
  clusterBytes: 4096,
  freeBytes: 5 * 4096,
  writeBytesPerSecond: 1_000_000,
}
const card = (change: Partial<CardUnit> = {}) => new VirtualCard({ ...unit, ...change }, new TraceRecorder())
const space = (c: VirtualCard) => {
  const { result } = c.ask({ op: 'space' })
  return result.got === 'number' ? result.value : -1
}

describe('the virtual card', () => {
  it('takes whole clusters: 1 octet one, 4097 two, and one for the folder when it is made', () => {
    const c = card()
    c.ask({ op: 'create', path: 'F/a', bytes: 1 })
    expect(space(c)).toBe(3 * 4096)
    c.ask({ op: 'create', path: 'F/b', bytes: 4097 })
    expect(space(c)).toBe(4096)
  })

  it('says that it is full, and changes nothing then', () => {
    const c = card()
    expect(c.ask({ op: 'create', path: 'F/a', bytes: 5 * 4096 }).result).toEqual({
      got: 'failed',
      why: 'full',
    })
    expect(space(c)).toBe(5 * 4096)
  })

  it('gives back what a file took when it is removed or replaced', () => {
    const c = card()
    c.ask({ op: 'create', path: 'F/a', bytes: 9000 })
    c.ask({ op: 'create', path: 'F/a', bytes: 10 })
    expect(space(c)).toBe(3 * 4096)
    c.ask({ op: 'remove', path: 'F/a' })
    expect(space(c)).toBe(4 * 4096)
  })

  it('reads what was written, under the name that it was renamed to, over an old file too', () => {
    const c = card()
    for (const [path, value] of [
      ['F/a', 1],
      ['F/b.part', 2],
    ] as const) {
      c.ask({ op: 'create', path, bytes: 4 })
      c.ask({ op: 'write', path, offset: 1, octets: Uint8Array.of(value, value) })
    }
    c.ask({ op: 'rename', path: 'F/b.part', to: 'F/a' })
    expect(c.ask({ op: 'read', path: 'F/a', offset: 0, bytes: 99 }).result).toEqual({
      got: 'octets',
      octets: Uint8Array.of(0, 2, 2, 0),
    })
    expect(c.ask({ op: 'size', path: 'F/b.part' }).result).toEqual({ got: 'failed', why: 'not-found' })
  })

  it('takes the time that its speed says', () => {
    const c = card()
    c.ask({ op: 'create', path: 'F/a', bytes: 8192 })
    const { ms } = c.ask({ op: 'write', path: 'F/a', offset: 0, octets: new Uint8Array(8000) })
    expect(ms).toBeGreaterThan(8)
    expect(ms).toBeLessThan(9)
  })

  it('can be read but not written when it is read only, and neither when it is pulled', () => {
    const locked = card({ readOnly: true })
    expect(locked.ask({ op: 'create', path: 'a', bytes: 1 }).result).toEqual({
      got: 'failed',
      why: 'read-only',
    })
    expect(space(locked)).toBe(5 * 4096)
    const pulled = card()
    pulled.ask({ op: 'create', path: 'F/a', bytes: 1 })
    pulled.pull(0)
    expect(pulled.ask({ op: 'read', path: 'F/a', offset: 0, bytes: 1 }).result).toEqual({
      got: 'failed',
      why: 'absent',
    })
    expect(new VirtualCard(undefined, new TraceRecorder()).ask({ op: 'space' }).result).toEqual({
      got: 'failed',
      why: 'absent',
    })
  })
})
