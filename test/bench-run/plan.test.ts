import { describe, expect, it } from 'vitest'
import { type WritePlan, writePlanKey, writePlanSchema } from '../../shared/bench-run/plan.ts'
import type { AdapterUnit } from '../../shared/model/gear.ts'
import { writePlan } from '../support/write-plan.ts'

const key = (change: Partial<WritePlan> = {}, text = 'bus') => writePlanKey(writePlan(change), text)
const { bench } = writePlan()
const adapterWith = (change: Partial<AdapterUnit>) => ({
  ...bench,
  adapters: bench.adapters.map(a => (a.id === 'bench-programmer' ? { ...a, ...change } : a)),
})

describe('the key of a write', () => {
  it('is the same through whatever port, and whatever things are called', () => {
    expect(key()).toMatch(/^[0-9a-f]{64}$/)
    expect(key({ port: '/dev/ttyUSB7' })).toBe(key())
    const renamed = adapterWith({ nickname: 'Left one' })
    expect(key({ bench: renamed })).toBe(key())
  })

  it.each<[string, Partial<WritePlan>]>([
    ['the image', { image: { kind: 'bench', imageId: 'wren-6-2.3.0' } }],
    ['the dialect', { dialect: 'st-an3155' }],
    ['the rate', { baud: 9600 }],
    ['the cable', { cableId: 'programmer-cable-swapped' }],
    ['the adapter', { adapterId: 'five-volt-adapter' }],
    ['what the adapter is', { bench: adapterWith({ signalVolts: 5 }) }],
    ['the feed', { feed: 'own-supply' }],
    ['the supply', { supplyId: 'nimh-4' }],
    ['what is expected of the receiver', { expect: { type: '0D47' } }],
    ['leaving out what lies outside', { dropOutside: true }],
  ])('is another one with another choice of %s', (_, change) => {
    if (change.dialect !== undefined) return expect(key(change, 'other text')).not.toBe(key())
    expect(key(change)).not.toBe(key())
  })

  it('is another one when the dialect file was edited', () => {
    expect(key({}, '{"a":1}')).not.toBe(key({}, '{"a":2}'))
  })

  it('takes a plan out of the contract with its defaults', () => {
    const { expect: _, dropOutside: __, ...sent } = writePlan()
    expect(writePlanSchema.parse(sent)).toEqual(writePlan())
    expect(writePlanSchema.safeParse({ ...sent, baud: 0 }).success).toBe(false)
  })
})
