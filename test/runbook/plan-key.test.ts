import { describe, expect, it } from 'vitest'
import { withUnit } from '../../shared/fit/rule.ts'
import type { Bench } from '../../shared/model/bench.ts'
import { type Plan, planKey } from '../../shared/runbook/plan-key.ts'
import { smallBench, smallRequest } from '../support/small-bench.ts'

const bench = smallBench()
const key = (change: Partial<Plan> = {}) => planKey(smallRequest({ bench, ...change }))
const withBench = (changed: Bench) => key({ bench: changed })

describe('the key of a plan', () => {
  it('is the same for the same plan, in whatever order its fields stand', () => {
    expect(key()).toMatch(/^[0-9a-f]{64}$/)
    const turned = JSON.parse(JSON.stringify(bench), (_, value) =>
      typeof value === 'object' && value !== null && !Array.isArray(value)
        ? Object.fromEntries(Object.entries(value).reverse())
        : value,
    )
    expect(withBench(turned)).toBe(key())
  })

  it('does not care what things are called, or about the rest of the bench, seed and faults', () => {
    expect(withBench(withUnit(bench, 'receivers', 'wren-trainer', { nickname: 'Another', note: 'x' }))).toBe(
      key(),
    )
    expect(withBench(withUnit(bench, 'receivers', 'wren-glider', { firmware: '9.9.9' }))).toBe(key())
    expect(withBench({ ...bench, name: 'Another' })).toBe(key())
    expect(planKey(smallRequest({ bench, seed: 7, faults: [{ name: 'line-noise' }] }))).toBe(key())
  })

  it.each([
    ['firmware', withUnit(bench, 'receivers', 'wren-trainer', { firmware: '2.3.0' })],
    ['what it is bound to', withUnit(bench, 'receivers', 'wren-trainer', { boundTo: 'inner-quay' })],
    ['battery', withUnit(bench, 'radios', 'tarn', { batteryVolts: 7.2 })],
    ['module', withUnit(bench, 'modules', 'inner-tarn', { on: false })],
    ['card', withUnit(bench, 'cards', 'card-tarn', { readOnly: true })],
    ['cable', { ...bench, wiring: { ...bench.wiring, cableId: 'signal-cable' } }],
    ['feed', { ...bench, wiring: { ...bench.wiring, cableFeed: 'both' as const } }],
    ['image', withUnit({ ...bench }, 'receivers', 'wren-trainer', {})],
    ['sensors', { ...bench, sensors: [] }],
  ])('changes with %s', (what, changed) => {
    const images = changed.images.map(image => ({ ...image, sequenceNumber: 99 }))
    expect(withBench(what === 'image' ? { ...changed, images } : changed)).not.toBe(key())
  })

  it('changes with image, route, receiver, what is dropped, and what a caller adds', () => {
    const octets = Uint8Array.of(1, 2, 3)
    const file = { kind: 'file', fileName: 'a', octets } as const
    const all = [
      key(),
      key({ route: 'wireless' }),
      key({ receiverId: 'wren-glider' }),
      key({ dropOutside: true }),
      key({ image: { kind: 'bench', imageId: 'wren-6-2.3.0' } }),
      key({ image: { kind: 'library', id: '0'.repeat(64) } }),
      key({ image: file }),
      key({ image: { ...file, octets: Uint8Array.of(1, 2, 4) } }),
      key({ image: { ...file, cardText: '{}' } }),
      planKey(smallRequest({ bench }), { dialect: 'xmodem-crc' }),
    ]
    expect(new Set(all).size).toBe(all.length)
    // What the file is called does not matter.
    expect(key({ image: { ...file, fileName: 'b' } })).toBe(key({ image: file }))
  })
})
